"""Wear, fret by fret and string by string: a sign for each verdict, flats in scale, dents."""

from __future__ import annotations

from typing import Final

from analysis.wear.wear import Wear
from daq.figures.boardmap import CELL_W, Cell
from daq.figures.layers import Layer, fret_names
from daq.figures.svg import number
from daq.text.words import fixed

#: A flat this wide fills its cell, mm; wider ones are drawn as wide as this.
FULL_MM: Final = 1.2
_PX_PER_MM: Final = (CELL_W - 6.0) / FULL_MM
_BAR: Final = 3.5
#: The sign's foot and the flat's bar, from the cell's top.
_FOOT, _BAR_TOP = 11.5, 29.0

#: Each verdict: its ground, its words; the sign is a crown seen from the side.
VERDICTS: Final[dict[str, tuple[str, str]]] = {
    "round": ("unworn", "round"),
    "leave": ("leave", "a small flat: leave"),
    "crown": ("crown", "flat: crown again"),
    "dented": ("dented", "dented under the string"),
    "worn out": ("worn-out", "worn out"),
    "not known": ("none", "not known"),
}
#: The crown's section, 18 wide, from the left end of its foot on.
SIGNS: Final[dict[str, str]] = {
    "round": "a9 9 0 0 1 18 0",
    "leave": "q1-6 6.5-7.5h5q5.5 1.5 6.5 7.5",
    "crown": "q0-4 3-5.5h12q3 1.5 3 5.5",
    "dented": "q1-8 6-9q3 5.5 6 0q5 1 6 9",
    "worn out": "v-3h18v3m-14-9l10 5m-10 0l10-5",
    "not known": "",
}


def wear_layer(wear: Wear, *, told: bool = False) -> Layer:
    """A cell each: the crown's sign, how deep a dent is in µm, the flat's width as a bar.

    told: every cell says its verdict and its numbers.
    """
    rows = zip(
        wear.verdict.T.tolist(),
        (1e3 * wear.dent_mm.T).tolist(),
        (2e3 * wear.u_dent_mm.T).tolist(),
        wear.flat_mm.T.tolist(),
        strict=True,
    )
    cells = [[_cell(*one, told=told) for one in zip(*row, strict=True)] for row in rows]
    words = (
        "The sign is a fret's crown seen from the side; the number, how deep a dent is, µm. The "
        "bar below is the flat on the crown, in scale. Nut on the left, string 1 on top."
    )
    legend = [Cell(said, kind, sketch=_sign(verdict)) for verdict, (kind, said) in VERDICTS.items()]
    scale = f"m2 7h{number(0.5 * _PX_PER_MM)}v4h{number(-0.5 * _PX_PER_MM)}z"
    legend.append(Cell("a flat 0.5 mm wide, in scale", "unworn", solid=scale))
    return Layer("Wear of the frets", words, fret_names(wear.verdict.shape[0]), cells, legend)


def _cell(verdict: str, dent_um: float, band_um: float, flat_mm: float, *, told: bool) -> Cell:
    kind, said = VERDICTS[verdict]
    if verdict == "not known":
        return Cell("?", kind, f"wear {said}" if told else "")
    # a dent counts where it can be told from none
    dented, flat = dent_um > band_um, flat_mm > 0.0
    if told:
        said += f", dent {fixed(dent_um, 0)} ± {fixed(band_um, 0)} µm" * dented
        said += f", flat {fixed(flat_mm, 2)} mm wide" * flat
    return Cell(
        f"{dent_um:.0f}" if dented else "",
        kind,
        said if told else "",
        sketch=_sign(verdict),
        solid=_bar(flat_mm) if flat else "",
    )


def _sign(verdict: str) -> str:
    """From the cell's upper left corner on."""
    drawn = SIGNS[verdict]
    return f"m{number(0.5 * CELL_W - 9.0)} {number(_FOOT)}{drawn}" if drawn else ""


def _bar(flat_mm: float) -> str:
    """The flat's width in scale."""
    width = min(flat_mm, FULL_MM) * _PX_PER_MM
    start = f"m{number(0.5 * (CELL_W - width))} {number(_BAR_TOP)}"
    return f"{start}h{number(width)}v{number(_BAR)}h{number(-width)}z"
