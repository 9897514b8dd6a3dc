"""Everything a report may tell; what is not there yet is left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as filled

from analysis.after.law import Law
from analysis.after.verify import Cut
from analysis.bench.sheet import Bench
from analysis.board.arc import Arc
from analysis.findings.findings import Finding
from analysis.form.across import Across
from analysis.form.along import Along
from analysis.instrument import Instrument
from analysis.movement.movement import Field
from analysis.neck.budgets import Budgets
from analysis.neck.neck import Tip
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from analysis.plan.tight import TightStrings
from analysis.plan.weighed import Weighed
from analysis.wear.loose import Loose
from analysis.wear.wear import Wear
from daq.documents.stored_strung import StrungThen
from daq.reading.doubts import Doubts
from daq.reading.repeats import Repeats
from daq.reading.rod import StateRod


@dataclass(frozen=True, slots=True)
class ReportInput:
    """A job at any stage.

    made, started, finished: times as they are to be read. calibrations: a plain line each.
    budgets: of the strung shape where there is one, else of the unstrung. wear, across, loose:
    of the unstrung neck where it was scanned (wear: only then). tip: what touched the neck
    whose wear it is. along, arcs, repeats: by state.
    weighed, doubts: of the plan; tight: each string where it has least room. plan_same: made again
    from its scans the plan comes out as it was stored. rod: as this neck's scans taught it.
    strung_end: the strung neck after the work. rig: the rig in a plain line. next_words: what to do
    next, instead of the usual sentence.
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
    wear: Wear | None = None
    tip: Tip = filled(default_factory=lambda: Tip(0.0))
    across: Across | None = None
    along: Mapping[str, tuple[Along, ...]] = filled(default_factory=dict)
    arcs: Mapping[str, Arc] = filled(default_factory=dict)
    loose: tuple[Loose, ...] = ()
    findings: tuple[Finding, ...] = ()
    repeats: Mapping[str, Repeats] = filled(default_factory=dict)
    plan: Plan | None = None
    weighed: Weighed | None = None
    doubts: Doubts = filled(default_factory=Doubts)
    tight: TightStrings | None = None
    plan_same: bool = True
    rod: StateRod | None = None
    bench: Bench | None = None
    cuts: tuple[Cut, ...] = ()
    law: Law | None = None
    strung_end: StrungThen | None = None
    rig: str | None = None
    calibrations: tuple[str, ...] = ()
    next_words: str | None = None

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """The states that were scanned, strung first."""
        return tuple(shape for shape in (self.strung, self.unstrung) if shape is not None)
