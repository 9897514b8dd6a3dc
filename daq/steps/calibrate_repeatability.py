"""How well the rig repeats itself: repeated scans studied, and kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.budgets import Budgets, relief_budget, top_budget
from analysis.neck.datum import datum_plane
from analysis.neck.relief import reliefs_by_terms
from analysis.repeats.repeatability import Repeatability, study
from analysis.repeats.repeated import RepeatedError, check_same_neck, lay_over
from daq.errors import InputError
from daq.files.instrument import InstrumentFile
from daq.files.rig import RigFile
from daq.reading.repeatability import repeatability_document
from daq.steps.recording import Operator, now
from daq.steps.repeated_scans import (
    ReadTops,
    RepeatBench,
    Repeats,
    balanced,
    check_repeats,
    chosen_lanes,
    scan_all,
)
from daq.steps.scan import check_reach
from daq.workshop.place import Workshop


@dataclass(frozen=True, slots=True)
class RepeatabilityFound:
    """The study, the budgets of its last scan with what it found, and where it is kept.

    strings: float[lanes]. scans: [clampings][scans], those it rests on. caution: why there are
    fewer than were asked for.
    """

    study: Repeatability
    strings: FloatArray
    budgets: Budgets
    path: Path
    scans: tuple[tuple[Path, ...], ...]
    caution: str | None


def calibrate_repeatability(
    workshop: Workshop,
    rig: RigFile,
    instrument: InstrumentFile,
    repeats: Repeats,
    operator: Operator,
) -> RepeatabilityFound:
    """Scans some lanes of the neck on the rig several times under each of several clampings.

    Every scan stays. Where one fails, what there is by then is studied if two scans of two
    clampings are among it. Raises InputError for too few of either, lanes the state does not
    have, or a neck that was not the same at every clamping; then nothing is kept.
    """
    check_repeats(repeats)
    check_reach(rig, instrument)
    record, store = instrument.record, workshop.calibrations(rig.name)
    lanes = chosen_lanes(record, rig, repeats)
    strings = np.array([lane.string for lane in lanes], dtype=float)
    bench = RepeatBench(rig, instrument, store, lanes, operator)
    done, caution = scan_all(bench, repeats)
    read = balanced(done)
    found = _studied(read, strings, record)
    about = _about(read, strings, record, repeats)
    path = store.save(
        "repeatability", repeatability_document(found, strings, rig.name, now(), about)
    )
    paths = tuple(tuple(one.path for one in scans) for scans in read)
    return RepeatabilityFound(
        found, strings, _budgets(found, read[-1][-1], record), path, paths, caution
    )


def _studied(
    read: list[list[ReadTops]], strings: FloatArray, instrument: Instrument
) -> Repeatability:
    try:
        laid = lay_over([[one.tops for one in scans] for scans in read], instrument.body_joint_fret)
        check_same_neck(laid, read[0][0].tops.x_mm, strings)
    except RepeatedError as error:
        raise InputError(f"{read[0][0].path.parent}: {error} Nothing was kept") from error
    return study(laid)


def _about(
    read: list[list[ReadTops]], strings: FloatArray, instrument: Instrument, repeats: Repeats
) -> dict[str, object]:
    return {
        "instrument": instrument.name,
        "state": repeats.state,
        "strings": strings.tolist(),
        "scans": [[one.path.name for one in scans] for scans in read],
    }


def _budgets(found: Repeatability, last: ReadTops, instrument: Instrument) -> Budgets:
    tops, joint = last.tops, instrument.body_joint_fret
    chords = reliefs_by_terms(tops.x_mm, tops.z_mm, tops.terms, joint, last.neck.rail)
    measured = () if found.relief is None else found.relief.measured_terms
    plane = datum_plane(last.neck, instrument)
    return Budgets(
        top_budget(tops.terms, found.tops.measured_terms),
        relief_budget(chords, measured),
        float(np.median(plane.u_at(tops.x_mm, tops.y_mm))),
    )
