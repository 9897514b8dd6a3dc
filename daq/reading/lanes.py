"""Which lanes a scan has, and which its state wants."""

from __future__ import annotations

import math

from analysis.instrument import Instrument
from calibration.lag.lag import Lag
from daq.errors import InputError
from daq.record.scan import Scan
from daq.text.words import counted

#: Without a second lane nothing can be said of the board across.
FEWEST_LANES = 2


def lanes_seen(scan: Scan) -> tuple[float, ...]:
    """The lanes with at least one good pass, by string: 2.5 is midway between 2 and 3."""
    return tuple(sorted({p.string for p in scan.passes if p.good and math.isfinite(p.string)}))


def lanes_wanted(state: str | None, strings: int) -> int:
    """How many lanes a whole scan of a state has."""
    return 2 * strings - 1 if state == "unstrung" else strings - 1


def check_lanes(scan: Scan, instrument: Instrument) -> None:
    """The scan is one of a neck with this many strings, and enough of it is there to be read.

    Raises InputError.
    """
    if scan.purpose != "scan":
        raise InputError(
            f"{scan.path}: found a {scan.purpose} scan, which has no lanes under or between "
            "strings; allowed a scan of a neck"
        )
    seen = lanes_seen(scan)
    if len(seen) < FEWEST_LANES:
        raise InputError(f"{scan.path}: {shortfall(scan, instrument)}")
    made_for, strings = math.ceil(seen[-1]), len(instrument.strings)
    if made_for > strings or (made_for < strings and scan.end == "done"):
        raise InputError(
            f"{scan.path}: was made over {made_for} strings, and the instrument file has "
            f"{strings}; correct strings, or scan again"
        )


def check_ways(scan: Scan, lag: Lag | None) -> tuple[str, ...]:
    """A remark where all passes went one way and the lag is calibrated; nothing for both ways.

    A sensor reads late and a carriage has play, so that crowns stand elsewhere each way: passes
    both ways show how far, a calibration knows it. Raises InputError where there is neither.
    """
    ways = {p.direction for p in scan.passes if p.good}
    if len(ways) != 1:
        return ()
    way = "to the right" if ways == {1} else "to the left"
    if lag is not None:
        return (f"all passes go {way}: nothing but the lag calibration says where crowns stand",)
    raise InputError(
        f"{scan.path}: all passes go {way}, and no lag is calibrated, so that nobody knows where "
        "the crowns stand; scan both ways, or run: neckform calibrate lag"
    )


def check_whole(scan: Scan, instrument: Instrument) -> None:
    """Every lane of its state is there: what metal comes off by must rest on no less.

    Raises InputError.
    """
    missing = what_is_missing(scan, instrument)
    if missing is not None:
        raise InputError(missing)


def what_is_missing(scan: Scan, instrument: Instrument) -> str | None:
    """A line on a scan that lacks lanes, None for a whole one."""
    if len(lanes_seen(scan)) >= lanes_wanted(scan.state, len(instrument.strings)):
        return None
    return f"{scan.path}: {shortfall(scan, instrument)}"


def shortfall(scan: Scan, instrument: Instrument) -> str:
    """How much of a cut-off scan there is, why, and what to do."""
    wanted = lanes_wanted(scan.state, len(instrument.strings))
    ended = "" if scan.end == "done" else f" (the scan is {scan.end}: {scan.why or 'cut off'})"
    return (
        f"found good passes over {len(lanes_seen(scan))} of {counted(wanted, 'lane')}{ended}; "
        f"scan {scan.state} again"
    )
