"""The last page: what was found against what the simulator knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.relief import reliefs
from analysis.neck.shape import Shape
from daq.demo.clearance import worst_true_margins
from daq.reading.job import BothStates, both_states
from daq.reading.reader import JobReader
from daq.workshop.job import Job
from daq.workshop.place import Workshop
from daq.workshop.store import read_group


@dataclass(frozen=True, slots=True)
class Found:
    """Where the job's results are."""

    workshop: Path
    job: str

    def before(self) -> BothStates:
        """The necks as the first plan saw them."""
        workshop = Workshop(self.workshop)
        job = workshop.job(self.job)
        scans = self.plan()["scans"]
        return both_states(JobReader(workshop, job), scans["strung"], scans["unstrung"])

    def plan(self) -> Mapping[str, Any]:
        plan: Mapping[str, Any] = read_group(self._job().plans()[0])
        return plan

    def check(self) -> Mapping[str, Any] | None:
        path = self._job().latest_check()
        return None if path is None else read_group(path)

    def _job(self) -> Job:
        return Workshop(self.workshop).job(self.job)


def against_truth(found: Found, truth: Mapping[str, Any], hand_gain: float) -> dict[str, Any]:
    """Errors of tops as shapes, of relief and twist; honest uncertainties; the plan's margin."""
    both, plan, check = found.before(), found.plan(), found.check()
    tops = {state: tops_before_cut_mm(truth, state) for state in ("unstrung", "strung")}
    joint = both.instrument.body_joint_fret
    page: dict[str, Any] = {}
    for state, shape in (("unstrung", both.paired), ("strung", both.strung_then)):
        off = shape_error_mm(shape, tops[state])
        page[f"{state}_tops_rms_um"] = _um(np.sqrt(np.nanmean(off**2)))
        page[f"{state}_within_twice_u_percent"] = round(
            100 * float(np.nanmean(np.abs(off) <= 2 * shape.u_top_mm)), 1
        )
        true_relief = reliefs(shape.x_mm, tops[state], np.zeros_like(tops[state]), joint)
        off_relief = [
            one.relief_mm - true.relief_mm
            for one, true in zip(shape.relief, true_relief, strict=True)
        ]
        page[f"{state}_relief_worst_um"] = _um(np.max(np.abs(off_relief)))
        page[f"{state}_twist_off_mrad"] = round(
            abs(shape.twist_mrad - float(truth["twist_mrad"][state])), 3
        )
    worst = worst_true_margins(both, plan, truth)
    page["worst_true_margin_after_plan_um"] = _um(worst.straight)
    page["worst_true_bend_after_plan_um"] = None if worst.bends is None else _um(worst.bends)
    metal = plan["metal"]
    page["metal_share_of_levelling"] = (
        round(metal["planned_um_total"] / metal["level_um_total"], 3)
        if metal["level_um_total"]
        else None
    )
    law = check["law"] if check is not None else None
    page["hand_gain_true"] = hand_gain
    page["hand_gain_found"] = round(law["gain"], 3) if law else None
    return page


def tops_before_cut_mm(truth: Mapping[str, Any], state: str) -> FloatArray:
    """The true tops with what the hand has taken off put back."""
    return np.asarray(np.array(truth["tops_mm"][state]) + 1e-3 * np.array(truth["removed_um"]))


def shape_error_mm(shape: Shape, true_mm: FloatArray) -> FloatArray:
    """Found less true, [frets, strings], the best plane taken off both."""
    off = shape.top_mm - true_mm
    seen = np.isfinite(off)
    design = np.column_stack([np.ones(int(seen.sum())), shape.x_mm[seen], shape.y_mm[seen]])
    plane, *_ = np.linalg.lstsq(design, off[seen], rcond=None)
    out = np.full(off.shape, np.nan)
    out[seen] = off[seen] - design @ plane
    return out


def _um(value_mm: float) -> float:
    return round(1e3 * float(value_mm), 2)
