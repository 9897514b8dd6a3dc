"""The options of `neckform calibrate rail`: which belong to which reference, and their limits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import cast

from calibration.rail.reversal import Way
from daq.errors import InputError
from daq.files.instrument import load_instrument
from daq.steps.rail_bench import Measure
from daq.steps.rail_offsets import by_offsets
from daq.steps.rail_straightedge import STRAIGHTEDGE_UM, by_reversal, by_straightedge
from daq.steps.rail_strings import by_strings
from daq.text.words import listed

#: A plain string's upper side, over lengths that bend (own estimate).
THICKNESS_UM = 0.5
PLACEMENTS = 4
FEWEST_PLACEMENTS, MOST_PLACEMENTS = 3, 12
FEWEST_ROWS, MOST_ROWS, WIDEST_MM = 2, 9, 100.0
#: What each reference takes.
BELONGS = {
    "straightedge": ("straightedge_um", "rows"),
    "reversed": ("straightedge_um", "turn"),
    "offsets": ("placements",),
    "strings": ("instrument", "strings", "thickness_um"),
}


@dataclass(frozen=True, slots=True)
class RailOptions:
    """As typed; None where nothing was."""

    straightedge_um: float | None = None
    rows: str | None = None
    turn: str | None = None
    placements: int | None = None
    instrument: Path | None = None
    strings: str | None = None
    thickness_um: float | None = None


def chosen_measure(reference: str, given: RailOptions) -> Measure:
    """The way to measure. Raises InputError for what is not allowed or does not belong to it."""
    if reference not in BELONGS:
        raise InputError(f"--reference: found {reference!r}; allowed {_either(BELONGS)}")
    _check_belongs(reference, given)
    if reference == "strings":
        return _strings(given)
    if reference == "offsets":
        return by_offsets(_placements(given))
    um = _within("--straightedge-um", given.straightedge_um, STRAIGHTEDGE_UM, 100.0)
    return by_reversal(um, _turn(given)) if reference == "reversed" else _straightedge(um, given)


def _either(names: Iterable[str]) -> str:
    return listed(list(names)).replace(" and ", " or ")


def _check_belongs(reference: str, given: RailOptions) -> None:
    for field in fields(given):
        if getattr(given, field.name) is not None and field.name not in BELONGS[reference]:
            option = f"--{field.name.replace('_', '-')}"
            owners = [name for name, options in BELONGS.items() if field.name in options]
            raise InputError(
                f"{option}: found with --reference {reference}; it belongs to "
                f"{_either(owners)}: leave it out"
            )


def _straightedge(um: float, given: RailOptions) -> Measure:
    rows = () if given.rows is None else numbers("--rows", given.rows)
    if given.rows is not None and not FEWEST_ROWS <= len(rows) <= MOST_ROWS:
        raise InputError(
            f"--rows: found {len(rows)} in {given.rows!r}; allowed {FEWEST_ROWS} to {MOST_ROWS}, "
            "such as -20,0,20"
        )
    beyond = [y for y in rows if abs(y) > WIDEST_MM]
    if beyond:
        raise InputError(f"--rows: found {beyond[0]:g}; allowed -{WIDEST_MM:g} to {WIDEST_MM:g} mm")
    return by_straightedge(um, rows)


def _turn(given: RailOptions) -> Way:
    if given.turn not in ("over", "ends"):
        found = "nothing" if given.turn is None else repr(given.turn)
        raise InputError(
            f"--turn: found {found}; allowed over (about its long axis, read from its other side) "
            "or ends (end for end)"
        )
    return cast(Way, given.turn)


def _placements(given: RailOptions) -> int:
    count = PLACEMENTS if given.placements is None else given.placements
    if not FEWEST_PLACEMENTS <= count <= MOST_PLACEMENTS:
        raise InputError(
            f"--placements: found {count}; allowed {FEWEST_PLACEMENTS} to {MOST_PLACEMENTS}: with "
            "fewer, every wave whose period divides their distance stays unseen"
        )
    return count


def _strings(given: RailOptions) -> Measure:
    if given.instrument is None:
        raise InputError(
            "--instrument: found nothing; allowed the file of the neck whose strings show the rail"
        )
    chosen = () if given.strings is None else numbers("--strings", given.strings)
    odd = [n for n in chosen if not n.is_integer()]
    if odd:
        raise InputError(f"--strings: found {odd[0]:g}; allowed whole numbers such as 1,2,3")
    um = _within("--thickness-um", given.thickness_um, THICKNESS_UM, 50.0)
    return by_strings(load_instrument(given.instrument), [int(n) for n in chosen], um)


def numbers(option: str, text: str) -> tuple[float, ...]:
    """Numbers between commas. Raises InputError naming the option."""
    try:
        found = tuple(float(word) for word in text.split(","))
    except ValueError:
        found = (float("nan"),)
    if any(number != number for number in found):
        raise InputError(f"{option}: found {text!r}; allowed numbers with commas, such as 1,2,3")
    return found


def _within(option: str, value: float | None, otherwise: float, most: float) -> float:
    chosen = otherwise if value is None else value
    if not 0.0 <= chosen <= most:
        raise InputError(f"{option}: found {chosen:g}; allowed 0 to {most:g} µm")
    return chosen
