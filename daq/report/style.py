"""How the report looks: quiet, light or dark as the reader's screen is, light on paper."""

from __future__ import annotations

_LIGHT = """
  color-scheme: light;
  --paper: #fcfbf8; --ink: #1f2428; --soft: #5c666e; --line: #d9d5cb; --card: #f4f1ea;
  --q0: #eaf1f4; --q1: #cfe1e8; --q2: #a6c9d6; --q3: #73aabf; --q4: #397f9b; --q5: #15536d;
  --t0: #1f2428; --t1: #1f2428; --t2: #1f2428; --t3: #10202a; --t4: #ffffff; --t5: #ffffff;
  --clear: #dcebf0; --doubt: #f3dc9b; --bad: #a8471b; --bad-ink: #ffffff; --on: #1f2428;
  --strung: #0f5c78; --unstrung: #a8471b;
"""
_DARK = """
  color-scheme: dark;
  --paper: #16191c; --ink: #e4e2dc; --soft: #9aa3aa; --line: #343a40; --card: #1e2327;
  --q0: #1d2a31; --q1: #20414f; --q2: #285e73; --q3: #4489a3; --q4: #7db4c8; --q5: #bfe0ec;
  --t0: #e4e2dc; --t1: #e4e2dc; --t2: #f4f6f7; --t3: #0b1216; --t4: #0b1216; --t5: #0b1216;
  --clear: #20414f; --doubt: #7a6220; --bad: #e58a5c; --bad-ink: #1a0f08; --on: #f2efe6;
  --strung: #7db4c8; --unstrung: #e58a5c;
"""

STYLE = f"""
:root {{{_LIGHT}}}
@media (prefers-color-scheme: dark) {{ :root {{{_DARK}}} }}
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
.note {{ color: var(--soft); font-size: .85rem; }}
.facts {{ display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1.2rem;
  font-size: .9rem; margin: .8rem 0; }}
.facts dt {{ color: var(--soft); }}
.facts dd {{ margin: 0; overflow-wrap: anywhere; }}
.caution {{ background: var(--card); border-left: 4px solid var(--bad); padding: .6rem .9rem;
  margin: .8rem 0; max-width: 46rem; }}
.caution p {{ margin: .2rem 0; }}
.wide {{ overflow-x: auto; }}
table {{ border-collapse: collapse; font-size: .85rem; margin: .6rem 0;
  font-variant-numeric: tabular-nums; }}
th, td {{ text-align: right; padding: .22rem .7rem; border-bottom: 1px solid var(--line); }}
th {{ color: var(--soft); font-weight: 600; }}
figure {{ margin: 1rem 0 1.4rem; }}
figcaption {{ margin-bottom: .5rem; font-size: .85rem; color: var(--soft); max-width: 46rem; }}
svg {{ display: block; width: 100%; min-width: 40rem; height: auto; }}
svg text {{ fill: var(--ink); font-size: 11px; font-variant-numeric: tabular-nums; }}
svg .soft {{ fill: var(--soft); }}
svg .axis {{ stroke: var(--soft); stroke-width: 1; fill: none; }}
svg .hair {{ stroke: var(--line); stroke-width: 1; fill: none; }}
svg .strung {{ stroke: var(--strung); fill: none; stroke-width: 1.6; }}
svg .unstrung {{ stroke: var(--unstrung); fill: none; stroke-width: 1.6;
  stroke-dasharray: 5 3; }}
svg .dot-strung {{ fill: var(--strung); }}
svg .dot-unstrung {{ fill: var(--paper); stroke: var(--unstrung); stroke-width: 1.3; }}
svg .bar-strung {{ stroke: var(--strung); stroke-width: 1; }}
svg .bar-unstrung {{ stroke: var(--unstrung); stroke-width: 1; }}
svg .none {{ fill: none; stroke: var(--line); stroke-dasharray: 2 2; }}
{
    "".join(
        f"svg .q{n} {{ fill: var(--q{n}); }} svg text.t{n} {{ fill: var(--t{n}); }}" + chr(10)
        for n in range(6)
    )
}
svg .clear {{ fill: var(--clear); }} svg .undecided {{ fill: var(--doubt); }}
svg .buzzes {{ fill: var(--bad); }} svg text.on-buzzes {{ fill: var(--bad-ink); font-weight: 700; }}
svg text.on-clear, svg text.on-undecided {{ fill: var(--on); }}
@page {{ margin: 14mm; }}
@media print {{
  :root {{{_LIGHT} --paper: #ffffff;}}
  body {{ max-width: none; padding: 0; font-size: 10.5pt; }}
  * {{ print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
  svg {{ min-width: 0; }}
  .wide {{ overflow: visible; }}
  figure, .caution, .whole, tr {{ break-inside: avoid; }}
  h2, h3 {{ break-after: avoid; }}
}}
"""
