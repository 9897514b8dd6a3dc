"""What a stored plan says was at hand, and what was to be meant."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from analysis.bench.sheet import Tools
from analysis.instrument import FloatArray, Instrument
from daq.documents.stored import damaged, entries, number, whole

_WHAT = "stored plan"


def stored_tools(document: Mapping[str, object], instrument: Instrument) -> Tools | None:
    """None for a plan from before the bench's work was kept. Raises FileError."""
    if "bench" not in document:
        return None
    bench = document["bench"]
    if not isinstance(bench, Mapping):
        raise damaged(_WHAT, "bench", "no group of keys", "a group of keys")
    beam = number(bench, "beam_mm", "bench", _WHAT)
    aim, off = _meant(bench, instrument)

    def hand(wanted: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where nothing is stored, what is wanted."""
        return np.where(np.isnan(aim), wanted, aim), np.where(np.isnan(off), wanted, off)

    u_cut = number(bench, "u_cut_um", "bench", _WHAT)
    return Tools(None if np.isnan(beam) else beam, bool(bench.get("prop_tried")), hand, u_cut)


def _meant(bench: Mapping[str, object], instrument: Instrument) -> tuple[FloatArray, FloatArray]:
    """Aims and what is then likely to come off, [frets, strings]; NaN where none is stored."""
    aim, off = np.full((2, instrument.frets, len(instrument.strings)), np.nan)
    for n, step in enumerate(entries(bench, "order", _WHAT)):
        where = f"bench.order[{n}]"
        fret = whole(step, "fret", where, _WHAT, instrument.frets) - 1
        for cut in entries(step, "cuts", _WHAT):
            string = whole(cut, "string", where, _WHAT, len(instrument.strings)) - 1
            take = number(cut, "take_um", where, _WHAT)
            aim[fret, string] = number(
                cut, "aim_um" if "aim_um" in cut else "take_um", where, _WHAT
            )
            off[fret, string] = take - number(cut, "remains_um", where, _WHAT)
    return aim, off
