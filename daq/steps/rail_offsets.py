"""The rail by one neck or plank, scanned at several places along it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from calibration.profile import Profile
from calibration.rail.cells import off_pads
from calibration.rail.map import RailError
from calibration.rail.match import match_offsets
from calibration.rail.offsets import APART_MM, LEAST_REACH, fit_offsets
from calibration.rail.places import suggest_places
from daq.files.rig import RigFile
from daq.record.scan import Scan
from daq.steps.rail_bench import Measure, Measured, RailBench, shown_by

#: Suggested reach where the object fills the rail: some of it may then lie beyond the pads.
SUGGESTED_REACH = 1.5 * LEAST_REACH


def by_offsets(placements: int) -> Measure:
    """One object at so many places, found from the scans themselves."""
    return partial(_offsets, count=placements)


def _offsets(bench: RailBench, count: int) -> Measured:
    bench.operator.ask(
        f"Placement 1 of {count}: lay a neck or a plank between the pads, as near to the first pad "
        "as it goes, under the tip from end to end; a neck with a fret pattern does well"
    )
    scans = [bench.scan("placement 1")]
    placed = [bench.shaped(scans[0])]
    with shown_by(scans):
        places = suggest_places(count, _reach_mm(placed[0], bench.rig))
    for number, place_mm in enumerate(places[1:], start=2):
        bench.operator.ask(
            f"Placement {number} of {count}: move it along the rail, away from the first pad, "
            f"until it lies about {place_mm:.0f} mm from where it lay first; a millimetre or two "
            "do not matter, but neither it nor the lane under the tip may change"
        )
        scans.append(bench.scan(f"placement {number}"))
        placed.append(bench.shaped(scans[-1]))
        with shown_by(scans[-1:]):
            _check_moved(placed, bench.rig)
    return _fitted(scans, placed, bench)


def _fitted(scans: list[Scan], placed: list[list[Profile]], bench: RailBench) -> Measured:
    with shown_by(scans):
        found = fit_offsets(placed, bench.rig.pad_records)
    about = {
        "reference": "offsets",
        "offsets_mm": [round(float(d), 3) for d in found.offsets_mm],
        "scatter": round(found.scatter, 3),
    }
    return Measured(found.rail, tuple(scans), about)


def _check_moved(placed: Sequence[Sequence[Profile]], rig: RigFile) -> None:
    """The last placement is of the same object, and in a place of its own. Raises RailError."""
    places = np.array(match_offsets(placed, rig.pad_records))
    near = int(np.argmin(np.abs(places[:-1] - places[-1])))
    apart = abs(float(places[-1] - places[near]))
    if apart < APART_MM:
        raise RailError(
            f"placement {places.size} lies {apart:.1f} mm from placement {near + 1}; allowed at "
            f"least {APART_MM:.0f} mm from every other; move the object and start again"
        )


def _reach_mm(profiles: Sequence[Profile], rig: RigFile) -> float:
    """Room for the object towards the last pad, and no less than long waves need."""
    gap = rig.pads[-1].from_mm - rig.pads[0].to_mm
    clear = [p.x_mm[p.ok & off_pads(p.x_mm, rig.pad_records)] for p in profiles]
    seen = np.concatenate(clear)
    if seen.size == 0:
        raise RailError("no readings between the pads; is anything on the rig?")
    return max(rig.pads[-1].from_mm - float(seen.max()), SUGGESTED_REACH * gap)
