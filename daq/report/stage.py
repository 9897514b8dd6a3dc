"""How far a job has come, and which margins tell how the neck stands now."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum

from analysis.plan.clearances import Clearance
from daq.report.record import ReportInput


class Stage(Enum):
    """A job's stages; a report is another at each."""

    NEW = "nothing was scanned"
    ONE_STATE = "scanned in one state"
    MEASURED = "scanned in both states"
    NO_PLAN = "planned for, and no plan meets everything"
    PLANNED = "planned"
    FILED = "filed and verified"
    ENDED = "strung up again and verified"


def stage_of(given: ReportInput) -> Stage:
    if given.plan is not None:
        if not given.plan.feasible:
            return Stage.NO_PLAN
        if given.strung_end is not None:
            return Stage.ENDED
        return Stage.FILED if given.verified or given.cuts else Stage.PLANNED
    if not given.shapes:
        return Stage.NEW
    return Stage.MEASURED if len(given.shapes) == 2 else Stage.ONE_STATE


def is_done(given: ReportInput) -> bool:
    """The frets have been filed, or rod, nut and saddles set where nothing was to come off."""
    return stage_of(given) in (Stage.FILED, Stage.ENDED)


def margins_now(given: ReportInput) -> Sequence[Clearance]:
    """The latest that is known of a feasible plan: of the strung neck at the end, foretold of the
    filed one, or foretold by the plan."""
    if given.strung_end is not None:
        return given.strung_end.margins
    if given.standing:
        return given.standing
    return given.plan.after if given.plan is not None else ()
