"""Everything a report may tell; what is not there yet is left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as filled

from analysis.after.law import Law
from analysis.after.verify import Cut, Left
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
from analysis.plan.clearances import Clearance
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
class ScanMade:
    """One scan of the job. begun: ISO 8601. turns: where the rod stood, tightening positive."""

    name: str
    state: str
    begun: str
    turns: float = 0.0


@dataclass(frozen=True, slots=True)
class ReportInput:
    """A job at any stage.

    made: ISO 8601, as is `begun` of the scans, which are in their order. strung, unstrung: as it
    came in, which with a plan is as the plan took it. filed: the unstrung neck after the work,
    ended: the strung one. standing: margins foretold of the filed neck; strung_end: as they were
    measured of the strung neck. left: metal still to come off, where another pass is worth it.
    since: scans made since the plan that no verification has looked at. finished: nothing
    is left to do. heights_now: the instrument with its string heights of today.
    calibrations: a plain line each.
    budgets: of the strung shape where there is one, else of the unstrung. wear, across, loose:
    of the unstrung neck where it was scanned (wear: only then). tip: what touched the neck
    whose wear it is. along, arcs, repeats: by state.
    weighed, doubts: of the plan; tight: each string where it has least room. plan_same: made again
    from its scans the plan comes out as it was stored. rod: as this neck's scans taught it.
    rig: the rig in a plain line. next_words: what to do next, instead of the usual sentence.
    """

    job: str
    instrument: Instrument
    program: str
    made: str
    scans: tuple[ScanMade, ...] = ()
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
    verified: bool = False
    cuts: tuple[Cut, ...] = ()
    law: Law | None = None
    filed: Shape | None = None
    ended: Shape | None = None
    standing: tuple[Clearance, ...] = ()
    left: tuple[Left, ...] = ()
    since: tuple[str, ...] = ()
    strung_end: StrungThen | None = None
    finished: bool = False
    heights_now: Instrument | None = None
    rig: str | None = None
    calibrations: tuple[str, ...] = ()
    next_words: str | None = None

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """The states that were scanned, strung first."""
        return tuple(shape for shape in (self.strung, self.unstrung) if shape is not None)
