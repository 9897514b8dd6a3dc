"""Everything a report may tell; what is not there yet is left out."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.after.law import Law
from analysis.after.verify import Cut
from analysis.instrument import Instrument
from analysis.neck.budgets import Budgets
from analysis.neck.shape import Shape
from analysis.plan.beam import BeamSetting
from analysis.plan.plan import Plan
from analysis.states.movement import Field


@dataclass(frozen=True, slots=True)
class ReportInput:
    """A job at any stage.

    made, started, finished: times as they are to be read. calibrations: a plain line each.
    budgets: of the strung shape where there is one, else of the unstrung. rig: the rig in a
    plain line. next_words: what to do next, instead of the usual sentence.
    """

    job: str
    instrument: Instrument
    program: str
    made: str
    started: str | None = None
    finished: str | None = None
    strung: Shape | None = None
    unstrung: Shape | None = None
    budgets: Budgets | None = None
    field: Field | None = None
    plan: Plan | None = None
    beam: BeamSetting | None = None
    cuts: tuple[Cut, ...] = ()
    law: Law | None = None
    rig: str | None = None
    calibrations: tuple[str, ...] = ()
    next_words: str | None = None
