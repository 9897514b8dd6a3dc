"""Before and after at a glance: a line for what matters, a column for each time it was known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import Instrument
from analysis.plan.clearances import Clearance
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm
from daq.figures.html import Html
from daq.report.plain import span
from daq.report.record import ReportInput
from daq.report.stage import Stage, stage_of
from daq.report.tabled import table
from daq.text.cuts import removals_um
from daq.text.expect import worst_u_mm
from daq.text.words import fixed


@dataclass(frozen=True, slots=True)
class Column:
    """One time. relief_mm, action_mm, height_mm: of all strings, or places. off_mm: metal in all
    by then. Empty is not known."""

    name: str
    margins: Sequence[Clearance]
    relief_mm: Sequence[float] = ()
    u_relief_mm: float = 0.0
    action_mm: Sequence[float] = ()
    lowest_mm: float = np.nan
    off_mm: float = np.nan


def glance_table(given: ReportInput) -> Html:
    """Nothing where there is no plan to have an after."""
    plan = given.plan
    if plan is None or not plan.feasible or given.strung is None:
        return Html("")
    columns = [came_in(given, plan), planned(given, plan)]
    stage = stage_of(given)
    if stage is Stage.FILED and given.standing:
        columns.append(_filed(given))
    if stage is Stage.ENDED:
        columns.append(now(given, plan))
    places = len(plan.now)
    u_action = fixed(2.0 * given.instrument.u_action_mm, 2)
    u_relief = fixed(math.ceil(200.0 * max(c.u_relief_mm for c in columns)) / 100.0, 2)
    rows = [
        [f"places that buzz, of {places}", *(_count(c, "buzzes") for c in columns)],
        ["places too near to call", *(_count(c, "undecided") for c in columns)],
        [f"relief, mm, ± {u_relief} or better", *(span(c.relief_mm) for c in columns)],
        [f"string height over fret 12, mm, ± {u_action}",
         *(span(c.action_mm) for c in columns)],
        ["lowest fret over the board, mm", *(fixed(c.lowest_mm, 2) for c in columns)],
        ["metal off in all, mm", *(fixed(c.off_mm, 2) for c in columns)],
    ]  # fmt: skip
    headers = ["", *(c.name for c in columns)]
    caption = (
        "A place is a string played open or held at a fret, straight or bent. ±, here and further "
        "on: the true value lies within it about 95 times in 100 (twice the standard uncertainty)."
    )
    return table(caption, headers, rows, kind="glance")


def came_in(given: ReportInput, plan: Plan) -> Column:
    assert given.strung is not None
    return Column(
        "as it came in",
        plan.now,
        [one.relief_mm for one in given.strung.relief],
        max((one.u_relief_mm for one in given.strung.relief), default=0.0),
        given.instrument.action_mm,
        _lowest(given.strung.height_mm),
        0.0,
    )


def planned(given: ReportInput, plan: Plan) -> Column:
    relief = _expected_relief(given)
    return Column(
        "as planned",
        plan.after,
        *relief,
        action_mm=action_after_mm(plan, given.instrument).tolist(),
        lowest_mm=_lowest(plan.height_after_mm),
        off_mm=1e-3 * float(removals_um(plan).sum()),
    )


def _filed(given: ReportInput) -> Column:
    """With the strings off: margins foretold, no relief."""
    lowest = np.nan if given.filed is None else _lowest(given.filed.height_mm)
    return Column(
        "as filed, foretold", given.standing, lowest_mm=lowest, off_mm=_came_off_mm(given)
    )


def now(given: ReportInput, plan: Plan) -> Column:
    """The strung neck at the end; string heights as they were measured anew, or else set."""
    end = given.strung_end
    assert end is not None
    measured = [one for one in end.check.relief if np.isfinite(one.measured_mm)]
    heights = action_now_mm(given, plan)
    seen = given.ended if given.ended is not None else given.filed
    return Column(
        "now",
        end.margins,
        [one.measured_mm for one in measured],
        max((one.u_measured_mm for one in measured), default=0.0),
        heights,
        np.nan if seen is None else _lowest(seen.height_mm),
        _came_off_mm(given),
    )


def action_now_mm(given: ReportInput, plan: Plan) -> Sequence[float]:
    """Measured anew, or what the plan had the saddles set to."""
    today: Instrument | None = given.heights_now
    if given.strung_end is not None and given.strung_end.heights == "measured" and today:
        return today.action_mm
    return tuple(action_after_mm(plan, given.instrument).tolist())


def _came_off_mm(given: ReportInput) -> float:
    seen = [cut.achieved_um for cut in given.cuts if np.isfinite(cut.achieved_um)]
    return 1e-3 * sum(seen)


def _expected_relief(given: ReportInput) -> tuple[Sequence[float], float]:
    if given.bench is None:
        return (), 0.0
    for one in given.bench.expected.strung:
        if one.what == "relief":
            return one.value_mm.tolist(), worst_u_mm(one)
    return (), 0.0


def _count(column: Column, verdict: str) -> str:
    return str(sum(c.verdict == verdict for c in column.margins)) if column.margins else "-"


def _lowest(height_mm: np.ndarray) -> float:
    return float(np.nanmin(height_mm)) if np.isfinite(height_mm).any() else np.nan
