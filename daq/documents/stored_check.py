"""What a stored verification says came off."""

from __future__ import annotations

from collections.abc import Mapping

from analysis.after.law import Law
from analysis.after.verify import Cut
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
    return Law(gain, u_gain, offset, u_offset, scatter, cuts)
