"""How the report looks: quiet, light or dark as the reader's screen is, light on paper."""

from __future__ import annotations

from collections.abc import Mapping

from daq.report.palette import DARK, GROUNDS, LIGHT, SHEET, ink_on


def _variables(colours: Mapping[str, str], scheme: str) -> str:
    named = {**colours, **{f"on-{name}": ink_on(colours[name]) for name in GROUNDS}}
    lines = "".join(f" --{name}: {value};" for name, value in named.items())
    return f"color-scheme: {scheme};{lines}"


#: A ground fills its shapes; text and signs on it take the ink that stands out there.
_GROUNDS = "".join(
    f"svg .{name} {{ fill: var(--{name}); }} svg .{name} text, svg .on-{name} "
    f"{{ fill: var(--on-{name}); }} svg .on-{name} {{ stroke: var(--on-{name}); }}\n"
    for name in GROUNDS
)

STYLE = f"""
:root {{ {_variables(LIGHT, "light")} }}
@media (prefers-color-scheme: dark) {{ :root {{ {_variables(DARK, "dark")} }} }}
* {{ box-sizing: border-box; }}
body {{ margin: 0 auto; max-width: 62rem; padding: 2rem 1.25rem 4rem; background: var(--paper);
  color: var(--ink); font: 16px/1.55 Georgia, "Iowan Old Style", "DejaVu Serif", serif; }}
h1, h2, h3, table, svg, .facts, .note, figcaption {{
  font-family: system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif; }}
h1 {{ font-size: 1.9rem; line-height: 1.2; margin: 0 0 .3rem; overflow-wrap: anywhere; }}
h2 {{ font-size: 1.2rem; margin: 2.6rem 0 .6rem; padding-top: .7rem;
  border-top: 1px solid var(--line); }}
h3 {{ font-size: 1rem; margin: 1.5rem 0 .4rem; }}
p {{ margin: .4rem 0; max-width: 44rem; }}
ul {{ margin: .4rem 0; padding-left: 1.2rem; max-width: 44rem; }}
li {{ margin: .2rem 0; }}
.short li {{ margin: .4rem 0; }}
.note {{ color: var(--soft); font-size: .85rem; }}
.facts {{ display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1.2rem;
  font-size: .9rem; margin: .8rem 0; }}
.lines {{ font: inherit; gap: .5rem 1.2rem; max-width: 46rem; }}
.facts dt {{ color: var(--soft); }}
.facts dd {{ margin: 0; overflow-wrap: anywhere; }}
.caution {{ background: var(--card); border-left: 4px solid var(--buzzes); padding: .6rem .9rem;
  margin: .8rem 0; max-width: 46rem; }}
.caution p {{ margin: .2rem 0; }}
.wide {{ overflow-x: auto; }}
table {{ border-collapse: collapse; font-size: .85rem; margin: .6rem 0;
  font-variant-numeric: tabular-nums; }}
th, td {{ text-align: right; padding: .22rem .7rem; border-bottom: 1px solid var(--line); }}
.close th, .close td {{ padding: .12rem .45rem; }}
th {{ color: var(--soft); font-weight: 600; }}
figure {{ margin: 1.2rem 0 1.8rem; }}
figcaption {{ margin-bottom: .5rem; font-size: .85rem; color: var(--soft); max-width: 46rem; }}
figcaption b {{ color: var(--ink); }}
svg {{ display: block; width: 100%; min-width: 46rem; height: auto; margin-bottom: .4rem; }}
svg text {{ fill: var(--ink); font-size: 11px; font-variant-numeric: tabular-nums; }}
svg .head {{ font-weight: 600; }}
svg .mid text, svg text.mid {{ text-anchor: middle; }}
svg .end text, svg text.end {{ text-anchor: end; }}
svg .halo {{ paint-order: stroke; stroke: var(--paper); stroke-width: 3px; }}
svg .soft, svg .soft text {{ fill: var(--soft); }}
svg .axis {{ stroke: var(--soft); stroke-width: 1; fill: none; }}
svg .hair {{ stroke: var(--line); stroke-width: 1; fill: none; }}
svg .joint {{ stroke: var(--ink); stroke-width: 1.4; fill: none; stroke-dasharray: 6 3; }}
svg .chord {{ stroke: var(--ink); stroke-width: 1.2; fill: none; }}
svg .carried {{ stroke: var(--ink); stroke-width: 1; fill: none; stroke-dasharray: 2 3; }}
svg .past {{ fill: var(--past); }}
svg .edge {{ stroke: var(--soft); stroke-width: 1; fill: none; }}
svg .nut {{ stroke: var(--ink); stroke-width: 3; fill: none; }}
svg .sign {{ fill: var(--ink); stroke: none; }}
svg .tile {{ stroke: var(--paper); stroke-width: .8; }}
svg .line-strung, svg .line-unstrung, svg .line-board {{ fill: none; stroke-width: 1.6; }}
svg .line-strung, svg .bar-strung, svg .dot-strung, svg .line-board {{ stroke: var(--strung); }}
svg .line-unstrung, svg .bar-unstrung, svg .dot-unstrung, svg .bar-fret, svg .dot-fret {{
  stroke: var(--unstrung); }}
svg .line-unstrung {{ stroke-dasharray: 5 3; }}
svg .bar-strung, svg .bar-unstrung, svg .bar-fret {{ stroke-width: 1; fill: none; }}
svg .dot-strung, svg .dot-unstrung, svg .dot-fret {{ fill: none; stroke-width: 5.4;
  stroke-linecap: round; }}
svg .hole {{ fill: none; stroke: var(--paper); stroke-width: 2.8; stroke-linecap: round; }}
svg .band-strung, svg .band-board {{ fill: var(--strung); opacity: .18; }}
svg .band-unstrung {{ fill: var(--unstrung); opacity: .18; }}
svg .say-strung, svg .say-board {{ fill: var(--strung); }}
svg .say-unstrung {{ fill: var(--unstrung); }}
svg .leader {{ stroke: var(--soft); stroke-width: .7; fill: none; }}
svg .sign-edge {{ stroke: var(--ink); stroke-width: .8; }}
svg .whisker {{ fill: none; stroke: var(--ink); stroke-width: 1.2; }}
svg .swing {{ fill: var(--strung); opacity: .28; }}
svg .guard {{ fill: var(--strung); opacity: .12; }}
svg .ideal {{ fill: none; stroke: var(--strung); stroke-width: 1; stroke-dasharray: 3 3; }}
svg .string {{ fill: none; stroke: var(--strung); stroke-width: 1.8; }}
svg .open {{ fill: none; stroke: var(--ink); stroke-width: 1.2; }}
svg .open-was {{ fill: none; stroke: var(--soft); stroke-width: 1; stroke-dasharray: 5 3; }}
svg .post {{ fill: none; stroke: var(--soft); stroke-width: 2.4; }}
svg .crown-fret {{ fill: var(--soft); stroke: none; opacity: .75; }}
svg .removed {{ fill: var(--buzzes); stroke: var(--paper); stroke-width: .4; }}
svg .was {{ fill: var(--paper); stroke: var(--ink); stroke-width: 1; }}
svg .touches {{ fill: none; stroke: var(--buzzes); stroke-width: 2; }}
svg .wire {{ stroke: var(--soft); stroke-width: .8; fill: none; opacity: .7; }}
svg .blank {{ fill: var(--paper); stroke: var(--soft); stroke-width: .8;
  stroke-dasharray: 2 2; }}
svg .none {{ fill: none; stroke: var(--line); stroke-dasharray: 2 2; }}
svg .on-none {{ fill: var(--soft); }}
svg .none text {{ fill: var(--soft); stroke: none; }}
svg .buzzes text {{ font-weight: 700; }}
{_GROUNDS}
.sheet th:last-child, .sheet td:last-child {{ padding-right: 0; }}
.steps td:last-child, .steps th:last-child {{ text-align: left; max-width: 42rem; }}
.steps td {{ vertical-align: top; }}
svg .sketch {{ fill: none; stroke-width: 1.5; }}
@page {{ margin: 14mm; }}
@media print {{
  :root {{ {_variables(LIGHT, "light")} --paper: {SHEET}; }}
  body {{ max-width: none; padding: 0; font-size: 10.5pt; }}
  * {{ print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
  svg {{ min-width: 0; }}
  .wide {{ overflow: visible; }}
  .sheet {{ break-before: page; break-after: page; color: #000; }}
  .sheet h2 {{ border-top: 0; margin-top: 0; padding-top: 0; }}
  .sheet th, .sheet td, .sheet .note {{ color: #000; border-color: #000; }}
  .sheet .caution {{ background: none; }}
  svg, .caution, .whole, tr {{ break-inside: avoid; }}
  h2, h3, figcaption {{ break-after: avoid; }}
}}
"""
