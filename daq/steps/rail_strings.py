"""The rail by the instrument's own strings at pitch, for a sensor that does not touch them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from analysis.instrument import Instrument
from analysis.strings.strings import string_loads
from calibration.profile import Profile
from calibration.rail.crest import ASIDE, RoundString, find_crest, is_found
from calibration.rail.strings import TautString, fit_strings
from daq.acquire.passes.lanes import both_ways, lane_along
from daq.errors import InputError
from daq.files.instrument import InstrumentFile
from daq.files.rig import RigFile
from daq.record.scan import Scan
from daq.steps.rail_bench import Measure, Measured, RailBench, shown_by
from daq.text.words import named

#: Lanes over each string's crest, both ways.
REPEATS = 2
#: Times a string is looked for: a nut that stands 5 mm from where its file says takes two.
ROUNDS = 4


def by_strings(instrument: InstrumentFile, numbers: Sequence[int], thickness_um: float) -> Measure:
    """Lanes along these strings; none given takes every plain one.

    thickness_um: standard uncertainty of a string's own straightness through its thickness.
    """
    return partial(
        _strings, instrument=instrument.record, numbers=tuple(numbers), thickness_um=thickness_um
    )


def _strings(
    bench: RailBench, instrument: Instrument, numbers: Sequence[int], thickness_um: float
) -> Measured:
    _check_rig(bench.rig)
    chosen = _chosen(instrument, numbers)
    bench.operator.ask(
        f"Put the neck on the rig with its strings at pitch, the nut at {instrument.nut_at_mm:g} "
        f"mm, {named('string', chosen)} under the sensor along the whole neck"
    )
    crests = _crests(bench, [_round(instrument, number) for number in chosen])
    scan = _scan_aside(bench, crests, (0.0,) * REPEATS, "strings")
    with shown_by([scan]):
        profiles = bench.even(scan)
        seen = [(_taut(instrument, n), [p for p in profiles if p.string == n]) for n in chosen]
        found = fit_strings(seen, bench.rig.pad_records, thickness_um)
    if bench.known_across is None:
        found = replace(found, unseen=(*found.unseen, _roll_words(crests)))
    about = {
        "reference": "strings",
        "instrument": instrument.name,
        "strings": list(chosen),
        "thickness_um": thickness_um,
        "crests_mm": [[*crest.from_mm, *crest.to_mm] for crest in crests],
    }
    return Measured(found, (scan,), about)


def _roll_words(crests: Sequence[RoundString]) -> str:
    y_mm = [end[1] for crest in crests for end in (crest.from_mm, crest.to_mm)]
    return (
        "the rail's roll, which stands in the map and not in its uncertainty: these strings run "
        f"at y = {min(y_mm):+.0f} to {max(y_mm):+.0f} mm; map the rail over y (--rows), then join "
        "them"
    )


def _check_rig(rig: RigFile) -> None:
    if rig.sensor.kind != "optical":
        raise InputError(
            f"--reference strings: found a {rig.sensor.kind} sensor on {rig.name}; allowed: an "
            "optical one, for a tip would push the string down; use straightedge or offsets"
        )
    if not rig.has_cross:
        raise InputError(
            f"--reference strings: found no driven cross slide on {rig.name}; a lane must follow "
            "the strings' fan; use straightedge or offsets"
        )


def _chosen(instrument: Instrument, numbers: Sequence[int]) -> tuple[int, ...]:
    count = len(instrument.strings)
    wrong = [number for number in numbers if not 1 <= number <= count]
    if wrong:
        raise InputError(f"--strings: found {wrong[0]}; allowed 1 to {count} of {instrument.name}")
    plain = [n for n, spec in enumerate(instrument.strings, start=1) if not spec.wound]
    chosen = tuple(sorted(set(numbers))) or tuple(plain)
    if not chosen:
        raise InputError(
            f"{instrument.name} has no plain string, and a wound one shows its windings; give "
            "--strings to try one all the same"
        )
    return chosen


def _crests(bench: RailBench, strings: Sequence[RoundString]) -> list[RoundString]:
    """Where the strings run, from lanes on either side: again where they were too far aside.

    Raises InputError where a string is not found.
    """
    found: dict[int, RoundString] = {}
    left = list(strings)
    for _ in range(ROUNDS):
        scan = _scan_aside(bench, left, (-ASIDE, ASIDE), "strings, either side")
        with shown_by([scan]):
            profiles = bench.even(scan)
            moved = [(string, _crest(bench, string, profiles)) for string in left]
        found |= {new.number: new for old, new in moved if is_found(old, new)}
        left = [new for old, new in moved if not is_found(old, new)]
        if not left:
            return [found[string.number] for string in strings]
    missed = named("string", [string.number for string in left])
    raise InputError(
        f"{scan.path}: {missed}: not found where the instrument file says, nor within "
        f"{ROUNDS * left[0].reach_mm:.2f} mm beside; check nut_at_mm and spacing_mm, and lay the "
        "neck along the rail; no map was kept"
    )


def _scan_aside(
    bench: RailBench, strings: Sequence[RoundString], shares: Sequence[float], label: str
) -> Scan:
    """Each string along lanes so many radii to one side of its crest, both ways."""
    plans = [(string, share * string.radius_mm) for string in strings for share in shares]
    lanes = [
        lane_along(bench.rig, number, string.number, partial(_beside_mm, string, aside))
        for number, (string, aside) in enumerate(plans, start=1)
    ]
    return bench.scan_along(label, both_ways(lanes, bench.rig.carriage.speed_mm_s))


def _beside_mm(string: RoundString, aside_mm: float, x_mm: float) -> float:
    return float(string.y_mm(np.array(x_mm))) + aside_mm


def _crest(bench: RailBench, string: RoundString, profiles: Sequence[Profile]) -> RoundString:
    along = [p for p in profiles if p.string == string.number]
    lanes = [[p for p in along if p.lane == lane] for lane in sorted({p.lane for p in along})]
    return find_crest(string, lanes, bench.rig.pad_records)


def _round(instrument: Instrument, number: int) -> RoundString:
    """Where the file says it runs."""
    nut, saddle = (
        (x, float(instrument.string_y_mm(number, x - instrument.nut_at_mm)))
        for x in _ends_mm(instrument, number)
    )
    return RoundString(number, 0.5 * instrument.strings[number - 1].diameter_mm, nut, saddle)


def _ends_mm(instrument: Instrument, number: int) -> tuple[float, float]:
    """Nut and saddle of a string, carriage mm."""
    nut = instrument.nut_at_mm + float(instrument.fret_x_mm(0, number))
    return nut, instrument.nut_at_mm + float(instrument.saddle_x_mm(number))


def _taut(instrument: Instrument, number: int) -> TautString:
    """Sag needs only the pitch: tension is mass times (2 L f)², and the mass falls out."""
    load = string_loads(instrument)[number - 1]
    nut, saddle = _ends_mm(instrument, number)
    return TautString(number, nut, saddle, load.mass_kg_per_m, load.tension_n)
