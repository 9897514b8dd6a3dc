"""How the neck stands after a cut: its margins, what is left, and the strung neck at the end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from analysis.after.heights import string_rise_mm
from analysis.after.standing import Standing, over_filed_tops, standing, with_saddles_set
from analysis.after.strung import StrungCheck, strung_check
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.changes import Changes, nothing_changed
from analysis.plan.setup import setup_from
from analysis.rod.rod import Rod, default_rod
from analysis.strings.playing import PlayingProfile
from daq.documents.stored_plan import planned_um, stored_action_mm, stored_screws
from daq.files.playing import parse_playing
from daq.reading.job import both_states
from daq.reading.reader import JobReader
from daq.reading.rod import rod_then
from daq.steps.verify_scans import ToVerify
from daq.workshop.store import json_text


@dataclass(frozen=True, slots=True)
class AsPlanned:
    """A stored plan with the neck it was made for.

    then: the strung tops it began with. screws: what it wants of rod, nut and saddles.
    action_mm: [strings], what the saddles are to be set to over fret 12.
    """

    document: Mapping[str, Any]
    instrument: Instrument
    playing: PlayingProfile
    then: Shape
    rod: Rod
    screws: Changes
    planned_mm: FloatArray
    action_mm: FloatArray


@dataclass(frozen=True, slots=True)
class StrungEnd:
    """The strung neck at the end. check: against the prediction; standing: by its own tops.

    heights: "planned" where string heights are those the plan wanted set, "measured" where the
    instrument's file has new ones.
    """

    scan: Path
    check: StrungCheck
    standing: Standing
    heights: str


def as_planned(reader: JobReader, which: ToVerify) -> AsPlanned:
    """Raises InputError where the plan's scans cannot be read, FileError where it is damaged."""
    document, instrument = which.plan, reader.job.instrument().record
    scans = document["scans"]
    then = both_states(reader, scans["strung"], scans["unstrung"]).strung
    best = rod_then(reader, scans.values())
    return AsPlanned(
        document,
        instrument,
        parse_playing(json_text(document["playing"]), "stored plan", instrument).record,
        then,
        default_rod(instrument, then.x_mm) if best is None else best.learnt.rod,
        stored_screws(document, instrument),
        1e-3 * planned_um(document, instrument),
        stored_action_mm(document, instrument),
    )


def filed_standing(reader: JobReader, which: ToVerify, plan: AsPlanned) -> Standing:
    """As the filed neck will stand strung, rod, nut and saddles set as planned."""
    strung = plan.document["scans"]["strung"]
    now = both_states(reader, strung, which.unstrung.name).strung
    screws = with_saddles_set(plan.screws, plan.instrument, plan.then, now, plan.planned_mm)
    instrument = over_filed_tops(plan.instrument, plan.then, now)
    return standing(now, instrument, plan.playing, plan.rod, screws)


def strung_end(
    reader: JobReader,
    which: ToVerify,
    strung: Path,
    plan: AsPlanned,
    achieved_um: FloatArray,
    u_achieved_um: FloatArray,
) -> StrungEnd:
    """The strung neck as it ended. achieved_um: [frets, strings], NaN where it is not known."""
    cut = plan.planned_mm > 0
    known = cut & np.isfinite(achieved_um)
    removed = np.where(known, 1e-3 * achieved_um, plan.planned_mm)
    u_removed = np.where(known, 1e-3 * u_achieved_um, 0.0)
    measured = both_states(reader, strung.name, which.unstrung.name).strung_then
    check = strung_check(
        plan.then,
        measured,
        removed,
        u_removed,
        plan.screws.relief_mm,
        plan.rod,
        plan.instrument,
    )
    instrument, heights = _heights(plan, removed)
    still = nothing_changed(setup_from(measured, instrument))
    stands = standing(measured, instrument, plan.playing, plan.rod, still)
    return StrungEnd(strung, check, stands, heights)


def _heights(plan: AsPlanned, removed_mm: FloatArray) -> tuple[Instrument, str]:
    """String heights at the end: new ones of the file, else those the plan wanted set."""
    instrument = plan.instrument
    was = plan.document.get("heights")
    now = {"action_mm": list(instrument.action_mm), "nut_gap_mm": list(instrument.nut_gap_mm)}
    if was is not None and was != now:
        return instrument, "measured"
    done = replace(plan.screws, remove_mm=removed_mm)
    gap = instrument.nut_gap_mm + string_rise_mm(instrument, done, plan.rod.cases[0], 1)
    set_to = replace(
        instrument, action_mm=tuple(plan.action_mm.tolist()), nut_gap_mm=tuple(gap.tolist())
    )
    return set_to, "planned"
