"""Margins that a stored verification found, of the filed neck or of the strung one at the end."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.instrument import Instrument
from analysis.plan.clearances import Clearance
from daq.documents.stored import damaged, entries, number, whole

_WHAT = "stored check"
_VERDICTS = ("clear", "undecided", "buzzes")


def stored_margins(
    group: Mapping[str, Any], where: str, instrument: Instrument
) -> tuple[Clearance, ...]:
    """Of `group["standing"]`: the worst of every string and position, straight ones first.

    where: the group's name with a dot behind it, or nothing. Raises FileError.
    """
    standing = group.get("standing")
    if not isinstance(standing, Mapping):
        raise damaged(_WHAT, f"{where}standing", "no group of keys", "a group of keys")
    strings, frets = len(instrument.strings), instrument.frets
    out = []
    for key, bend in (("margins", False), ("bends", True)):
        for n, one in enumerate(entries(standing, key, _WHAT)):
            at = f"{where}standing.{key}[{n}]"
            fretted = one.get("fretted")
            out.append(
                Clearance(
                    whole(one, "string", at, _WHAT, strings),
                    0 if fretted == 0 else whole(one, "fretted", at, _WHAT, frets),
                    whole(one, "worst_at", at, _WHAT, frets),
                    bend,
                    number(one, "clearance_mm", at, _WHAT),
                    number(one, "needed_mm", at, _WHAT),
                    number(one, "more_mm", at, _WHAT),
                    number(one, "u_clearance_mm", at, _WHAT),
                    verdict_of(one, at, _VERDICTS),
                )
            )
    return tuple(out)


def verdict_of(entry: Mapping[str, Any], where: str, known: tuple[str, ...]) -> str:
    """Raises FileError for one that is not known."""
    verdict = entry.get("verdict")
    if verdict not in known:
        raise damaged(_WHAT, f"{where}.verdict", repr(verdict), ", ".join(known))
    return str(verdict)
