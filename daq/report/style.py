"""How the report looks: quiet, light or dark as the reader's screen is, light on paper."""

from __future__ import annotations

from daq.figures.style import COLOURS, STROKES

STYLE = (
    COLOURS
    + """
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 62rem; padding: 2rem 1.25rem 4rem; background: var(--paper);
  color: var(--ink); font: 18px/1.5 Georgia, "Iowan Old Style", "DejaVu Serif", serif; }
h1, h2, h3, table, svg, .facts, .note, .kind, .about, .status, figcaption {
  font-family: system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif; }
h1 { font-size: 2.1rem; line-height: 1.15; margin: 0 0 .3rem; overflow-wrap: anywhere; }
h2 { font-size: 1.35rem; margin: 2.6rem 0 .6rem; padding-top: .7rem;
  border-top: 1px solid var(--line); overflow-wrap: anywhere; }
h3 { font-size: 1.05rem; margin: 1.4rem 0 .3rem; }
p { margin: .4rem 0; max-width: 44rem; overflow-wrap: anywhere; }
ul { margin: .4rem 0; padding-left: 1.2rem; max-width: 44rem; }
li { margin: .25rem 0; overflow-wrap: anywhere; }
.kind { color: var(--soft); margin: 0; font-size: .95rem; }
.about { font-size: .95rem; color: var(--soft); }
.status { font-size: 1.15rem; border-left: 4px solid var(--strung); padding-left: .8rem; }
.minute { display: grid; grid-template-columns: repeat(auto-fit, minmax(19rem, 1fr));
  gap: 0 2rem; }
.minute h2 { margin: 1rem 0 .2rem; padding: 0; border: 0; font-size: 1.1rem; }
.name { font: 600 .9rem system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif;
  margin: .5rem 0 .1rem; }
.note { color: var(--soft); font-size: .9rem; }
.facts { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1.2rem;
  font-size: .95rem; margin: .8rem 0; }
.facts dt { color: var(--soft); }
.facts dd { margin: 0; overflow-wrap: anywhere; max-width: 40rem; }
.caution { background: var(--card); border-left: 4px solid var(--buzzes); padding: .6rem .9rem;
  margin: .8rem 0; max-width: 46rem; }
.caution p { margin: .2rem 0; }
.drawer { margin-top: 4rem; border-top: 6px double var(--soft); }
.drawer .apart { border-top: 0; margin-top: .6rem; }
.wide { overflow-x: auto; }
.beside { display: flex; flex-wrap: wrap; gap: 0 2.2rem; align-items: flex-start; }
.beside > * { max-width: 100%; }
table { border-collapse: collapse; font-size: .88rem; margin: .7rem 0;
  font-variant-numeric: tabular-nums; }
caption { text-align: left; font-weight: 600; padding-bottom: .35rem; max-width: 46rem; }
.glance caption { font-weight: 400; font-size: .95em; color: var(--soft); }
th, td { text-align: right; padding: .22rem .7rem; border-bottom: 1px solid var(--line);
  vertical-align: bottom; }
.close th, .close td { padding: .12rem .45rem; }
thead th { color: var(--soft); font-weight: 600; }
thead th[scope=colgroup] { text-align: center; }
tbody th { font-weight: 400; text-align: left; }
.words td, .words th { text-align: left; }
.glance { font-size: 1.05em; }
.glance td { font-weight: 600; }
@media (max-width: 40rem) { .glance { font-size: .9em; }
  .glance th, .glance td { padding: .2rem .3rem; } .facts { gap: .15rem .8rem; } }
figure { margin: 1.2rem 0 1.8rem; }
figcaption { margin-bottom: .5rem; font-size: .9rem; color: var(--soft); max-width: 46rem; }
figcaption b { color: var(--ink); }
svg { display: block; width: 100%; min-width: 46rem; height: auto; margin-bottom: .4rem; }
@page { margin: 11mm 12mm 14mm;
  @bottom-right { content: counter(page) " / " counter(pages); font: 8.5pt sans-serif; }
  @bottom-left { content: "neck report"; font: 8.5pt sans-serif; } }
@media print {
  html { font-size: 10pt; }
  body { max-width: none; padding: 0; font-size: 10pt; line-height: 1.38; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  h1 { font-size: 20pt; } h2 { font-size: 13.5pt; margin-top: 16pt; } h3 { font-size: 11pt; }
  .rooms figure { max-width: 132mm; margin: 4pt 0; } .first .glance { font-size: 9pt; }
  .first .glance th, .first .glance td { padding: 1pt 5pt; }
  .minute { font-size: 9pt; } .minute h2 { font-size: 11pt; margin-top: 6pt; }
  .minute ul, .minute li { margin-top: 1pt; margin-bottom: 1pt; }
  .drawer { break-before: page; margin-top: 0; }
  p, ul, .facts dd, .caution, caption, figcaption { max-width: none; }
  table { font-size: 8.5pt; } .glance { font-size: 10pt; }
  .minute { grid-template-columns: 1fr 1fr; }
  svg { min-width: 0; max-height: 225mm; }
  figure { margin: 8pt 0 10pt; }
  .wide { overflow: visible; }
  .beside { display: block; }
  .beside > .whole { display: inline-block; vertical-align: top; margin-right: 7mm; }
  p, li { orphans: 3; widows: 3; }
  svg, .caution, .whole, .told, tr { break-inside: avoid; }
  thead { display: table-header-group; break-after: avoid; }
  tbody tr:nth-child(-n+3) { break-before: avoid; }
  h1, h2, h3, .name, figcaption, caption { break-after: avoid; }
}
"""
    + STROKES
)
