"""How the cut sheet looks: black on white in any light, large enough for dusty hands."""

from __future__ import annotations

from typing import Final

SHEET_STYLE: Final = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 52rem; padding: 1.5rem 1.25rem 3rem; background: #fff;
  color: #000; font: 18px/1.4 system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif; }
h1 { font-size: 1.7rem; margin: 0; overflow-wrap: anywhere; }
h2 { font-size: 1.25rem; margin: 1.3rem 0 .3rem; }
p, ul { margin: .3rem 0; overflow-wrap: anywhere; }
ul { padding-left: 1.2rem; }
.caution { border: 2px solid #000; padding: .3rem .7rem; margin: .7rem 0; }
.caution p { margin: .2rem 0; }
.ticks { list-style: none; margin: .3rem 0; padding: 0; }
.ticks li { display: flex; gap: .6rem; padding: .3rem 0; border-bottom: 1px solid #000; }
.box { font-size: 1.5em; line-height: 1; }
.blank { display: inline-block; width: 11rem; border-bottom: 1px solid #000; }
main { overflow-x: auto; }
table { border-collapse: collapse; margin: .4rem 0 .8rem; width: 100%;
  font-variant-numeric: tabular-nums; }
caption { text-align: left; padding-bottom: .15rem; }
.fret caption { font-size: 1.2em; }
.fret .box { vertical-align: -.12em; }
.few { columns: 2; column-gap: 1.6rem; }
.fret, .gauges { table-layout: fixed; }
.fret th:first-child { width: 8.5rem; } .gauges th:first-child { width: 49%; }
th, td { border: 1px solid #000; padding: .12rem .35rem; text-align: right; font-weight: 400; }
thead th { font-weight: 700; }
th:first-child { text-align: left; }
.gauges tbody { border: 2px solid #000; }
.take td { font-size: 1.25em; font-weight: 700; }
.written td, .written th { height: 1.8rem; }
.rule { border-bottom: 1px solid #000; height: 1.9rem; }
.notes h2 { margin-bottom: 0; font-size: 1em; }
@page { margin: 11mm 11mm 13mm;
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 9pt sans-serif; } }
@media (max-width: 40rem) { .few { columns: 1; } }
@media print {
  html { font-size: 10.5pt; }
  body { max-width: none; padding: 0; font-size: 10.5pt; line-height: 1.22; }
  h2 { margin-top: .5rem; font-size: 1.15rem; } .blank { width: 8rem; }
  .box { font-size: 1.3em; }
  .gauges .written td { height: 1.55rem; }
  .caution { margin: .4rem 0; font-size: .92em; }
  .ticks li { padding: .08rem 0; } table { margin: .2rem 0 .5rem; }
  header p { display: inline-block; margin: .1rem 1.5rem .1rem 0; }
  h1 { font-size: 1.5rem; } .few { columns: 2; }
  main { overflow: visible; }
  thead { display: table-header-group; }
  tbody, tr, li, .fret, .caution, .notes { break-inside: avoid; }
  h1, h2, caption { break-after: avoid; }
}
"""
