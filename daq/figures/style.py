"""Colours and strokes of every picture: light or dark as the screen is, light on paper."""

from __future__ import annotations

from collections.abc import Mapping

from daq.figures.palette import DARK, GROUNDS, LIGHT, SHEET, ink_on
from daq.figures.svg import TEXT


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

#: The colours by name, as custom properties of the page.
COLOURS = f"""
:root {{ {_variables(LIGHT, "light")} }}
@media (prefers-color-scheme: dark) {{ :root {{ {_variables(DARK, "dark")} }} }}
@media print {{ :root {{ {_variables(LIGHT, "light")} --paper: {SHEET}; }} }}
"""

#: What the parts of a picture look like, in those colours.
STROKES = f"""
svg text {{ fill: var(--ink); font-size: {TEXT:g}px; font-variant-numeric: tabular-nums; }}
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
svg .mark {{ stroke: var(--ink); stroke-width: 2; fill: none; }}
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
svg .line-now, svg .line-after {{ fill: none; stroke-width: 1.6; }}
svg .line-now {{ stroke: var(--soft); stroke-dasharray: 5 3; }}
svg .line-after {{ stroke: var(--ink); }}
svg .bar-now {{ stroke: var(--soft); stroke-width: 1.4; fill: none; }}
svg .dot-now, svg .dot-after {{ fill: none; stroke-width: 6; stroke-linecap: round; }}
svg .dot-now {{ stroke: var(--soft); }}
svg .dot-past {{ fill: none; stroke: var(--soft); stroke-width: 3.4; stroke-linecap: round;
  opacity: .55; }}
svg .dot-after {{ stroke: var(--ink); }}
svg .asked {{ fill: none; stroke: var(--asked); stroke-width: 2; stroke-dasharray: 10 3 2 3; }}
svg .anchor {{ fill: var(--asked); stroke: var(--paper); stroke-width: 1; }}
svg .meant {{ fill: none; stroke: var(--ink); stroke-width: 1.2; stroke-dasharray: 4 2; }}
svg .came-off {{ fill: var(--strung); opacity: .6; }}
svg .crown-fret {{ fill: var(--soft); stroke: none; opacity: .75; }}
svg .removed {{ fill: var(--buzzes); stroke: var(--paper); stroke-width: .4; }}
svg .was {{ fill: var(--paper); stroke: var(--ink); stroke-width: 1; }}
svg .touches {{ fill: none; stroke: var(--buzzes); stroke-width: 2; }}
svg .wire {{ stroke: var(--soft); stroke-width: .8; fill: none; opacity: .7; }}
svg .blank {{ fill: var(--paper); stroke: var(--soft); stroke-width: .8;
  stroke-dasharray: 2 2; }}
svg .none {{ fill: none; stroke: var(--line); stroke-dasharray: 2 2; }}
svg .on-none {{ fill: var(--soft); stroke: var(--soft); }}
svg .none text {{ fill: var(--soft); stroke: none; }}
svg .buzzes text {{ font-weight: 700; }}
{_GROUNDS}svg .sketch {{ fill: none; stroke-width: 1.5; }}
svg .hatch {{ fill: none; stroke-width: 1.2; }}
svg .cell {{ cursor: pointer; outline: none; }}
svg .cell:hover > path:first-of-type {{ stroke: var(--ink); stroke-width: 1.5; }}
svg .cell:focus > path:first-of-type {{ stroke: var(--ink); stroke-width: 3.5; }}
svg .chosen-row, svg .chosen-cell {{ fill: none; stroke: var(--ink); pointer-events: none; }}
svg .chosen-row {{ stroke-width: 1.6; }}
svg .chosen-cell {{ stroke-width: 3.5; }}
"""

#: What a page needs to show any picture.
CSS = COLOURS + STROKES
