"""How the report looks: quiet, light or dark as the reader's screen is, light on paper."""

from __future__ import annotations

from daq.figures.style import COLOURS, STROKES

STYLE = (
    COLOURS
    + """
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 62rem; padding: 2rem 1.25rem 4rem; background: var(--paper);
  color: var(--ink); font: 16px/1.55 Georgia, "Iowan Old Style", "DejaVu Serif", serif; }
h1, h2, h3, table, svg, .facts, .note, figcaption {
  font-family: system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif; }
h1 { font-size: 1.9rem; line-height: 1.2; margin: 0 0 .3rem; overflow-wrap: anywhere; }
h2 { font-size: 1.2rem; margin: 2.6rem 0 .6rem; padding-top: .7rem;
  border-top: 1px solid var(--line); }
h3 { font-size: 1rem; margin: 1.5rem 0 .4rem; }
p { margin: .4rem 0; max-width: 44rem; }
ul { margin: .4rem 0; padding-left: 1.2rem; max-width: 44rem; }
li { margin: .2rem 0; }
.short li { margin: .4rem 0; }
.note { color: var(--soft); font-size: .85rem; }
.facts { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1.2rem;
  font-size: .9rem; margin: .8rem 0; }
.lines { font: inherit; gap: .5rem 1.2rem; max-width: 46rem; }
.facts dt { color: var(--soft); }
.facts dd { margin: 0; overflow-wrap: anywhere; }
.caution { background: var(--card); border-left: 4px solid var(--buzzes); padding: .6rem .9rem;
  margin: .8rem 0; max-width: 46rem; }
.caution p { margin: .2rem 0; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-size: .85rem; margin: .6rem 0;
  font-variant-numeric: tabular-nums; }
th, td { text-align: right; padding: .22rem .7rem; border-bottom: 1px solid var(--line); }
.close th, .close td { padding: .12rem .45rem; }
th { color: var(--soft); font-weight: 600; }
figure { margin: 1.2rem 0 1.8rem; }
figcaption { margin-bottom: .5rem; font-size: .85rem; color: var(--soft); max-width: 46rem; }
figcaption b { color: var(--ink); }
svg { display: block; width: 100%; min-width: 46rem; height: auto; margin-bottom: .4rem; }
.sheet th:last-child, .sheet td:last-child { padding-right: 0; }
.steps td:last-child, .steps th:last-child { text-align: left; max-width: 42rem; }
.steps td { vertical-align: top; }
@page { margin: 14mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 10.5pt; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  svg { min-width: 0; }
  .wide { overflow: visible; }
  .sheet { break-before: page; break-after: page; color: #000; }
  .sheet h2 { border-top: 0; margin-top: 0; padding-top: 0; }
  .sheet th, .sheet td, .sheet .note { color: #000; border-color: #000; }
  .sheet .caution { background: none; }
  svg, .caution, .whole, tr { break-inside: avoid; }
  h2, h3, figcaption { break-after: avoid; }
}
"""
    + STROKES
)
