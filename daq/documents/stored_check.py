"""What a stored verification says came off."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analysis.after.law import Law
from analysis.after.verify import Cut, Left
from analysis.instrument import FloatArray, Instrument
from daq.documents.stored import damaged, entries, number, whole

_WHAT = "stored check"
_VERDICTS = ("under", "within", "over", "undecided")
_MOST_PLACES = 99


def stored_cuts(document: object) -> tuple[Cut, ...]:
    """Every judged cut of a `verify_document`. Raises FileError for a damaged one."""
    cuts = []
    for n, entry in enumerate(entries(document, "cuts", _WHAT)):
        where = f"cuts[{n}]"
        verdict = entry.get("verdict")
        if verdict not in _VERDICTS:
            raise damaged(_WHAT, f"{where}.verdict", repr(verdict), ", ".join(_VERDICTS))
        cuts.append(
            Cut(
                whole(entry, "fret", where, _WHAT, _MOST_PLACES),
                whole(entry, "string", where, _WHAT, _MOST_PLACES),
                number(entry, "planned_um", where, _WHAT),
                number(entry, "achieved_um", where, _WHAT),
                number(entry, "u_achieved_um", where, _WHAT),
                str(verdict),
            )
        )
    return tuple(cuts)


def stored_law(document: object) -> Law | None:
    """The law of a `verify_document`, None where it learnt none. Raises FileError."""
    law = document.get("law") if isinstance(document, Mapping) else None
    if law is None:
        return None
    if not isinstance(law, Mapping):
        raise damaged(_WHAT, "law", "no group of keys", "a group of keys or null")
    gain, u_gain, offset, u_offset, scatter = (
        number(law, key, "law", _WHAT)
        for key in ("gain", "u_gain", "offset_um", "u_offset_um", "scatter_um")
    )
    cuts = whole(law, "cuts", "law", _WHAT, 1_000_000)
    plain = Law(gain, u_gain, offset, u_offset, scatter, cuts)
    if "sessions" not in law:
        # a check of before sessions were told apart
        return plain
    deepest = number(law, "deepest_um", "law", _WHAT)
    return replace(
        plain,
        sessions=whole(law, "sessions", "law", _WHAT, 1_000_000),
        day_gain=number(law, "day_gain", "law", _WHAT),
        correlation=number(law, "correlation", "law", _WHAT),
        shallowest_um=number(law, "shallowest_um", "law", _WHAT),
        deepest_um=math.inf if math.isnan(deepest) else deepest,
    )


def stored_left(document: object, instrument: Instrument) -> tuple[Left, ...]:
    """What a check found still to come off, in its order; nothing where it does not say.

    Raises FileError.
    """
    if not isinstance(document, Mapping) or "left" not in document:
        return ()
    left = []
    for n, one in enumerate(entries(document, "left", _WHAT)):
        where = f"left[{n}]"
        left.append(
            Left(
                whole(one, "fret", where, _WHAT, instrument.frets),
                whole(one, "string", where, _WHAT, len(instrument.strings)),
                number(one, "left_um", where, _WHAT),
                number(one, "u_left_um", where, _WHAT),
                number(one, "aim_um", where, _WHAT),
            )
        )
    return tuple(left)


def stored_aims_um(document: object, instrument: Instrument) -> FloatArray:
    """What a check had somebody mean to take in another pass, [frets, strings], µm.

    Zero where it found nothing left, or does not say. Raises FileError.
    """
    aims = np.zeros((instrument.frets, len(instrument.strings)))
    for one in stored_left(document, instrument):
        aims[one.fret - 1, one.string - 1] = one.aim_um
    return aims
