"""All that a report may tell of a decision, for a neck of any size, written by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analysis.after.law import Law
from analysis.after.strung import StringRelief, StrungCheck
from analysis.after.verify import Cut
from analysis.plan.blocking import Blocking, Hurdle
from analysis.plan.chokes import Choke, Chokes
from analysis.plan.clearances import Clearance
from analysis.plan.cure import Cure
from analysis.plan.demands import Member
from analysis.plan.holding import Holding
from analysis.plan.life import FretLife, Life
from analysis.plan.price import Saving, UncertaintyPrice
from analysis.plan.refret import Refret
from analysis.plan.sensitivity import Kind, Sensitivity, Step
from analysis.plan.setup import Setup, setup_from
from analysis.plan.slopes import Slopes
from analysis.plan.tight import Tight, TightStrings
from analysis.plan.weighed import Weighed
from daq.documents.stored_strung import StrungThen
from daq.report.record import ReportInput

PLANNED_MM = 0.3
#: The string with least room, and the one that loses most metal where it has least room.
WORST, MOST_CUT = 2, 4


def decided(given: ReportInput) -> ReportInput:
    """The job with its decision weighed, carried out, verified and strung again."""
    assert given.plan is not None
    assert given.strung is not None
    frets, strings = given.plan.remove_mm.shape
    setup = setup_from(given.strung, given.instrument)
    return replace(
        given,
        plan=replace(given.plan, chokes=_chokes(frets, strings)),
        weighed=Weighed(_sensitivity(strings), _price(), _life(frets), {}),
        tight=TightStrings(
            setup,
            replace(setup, saddle_mm=setup.saddle_mm + 0.3),
            tuple(tight(setup, s) for s in range(1, strings + 1)),
        ),
        cuts=_cuts(frets, strings),
        law=Law(0.88, 0.02, 0.4, 0.2, 1.2, 34, 3, 0.02, -0.4, 3.0, 60.0),
        strung_end=_end(frets, strings),
    )


def undecided(given: ReportInput) -> ReportInput:
    """The same neck for a player whom it cannot serve."""
    whole = decided(given)
    assert whole.plan is not None
    frets, strings = whole.plan.remove_mm.shape
    short = Clearance(1, 2, 3, False, 0.05, 0.07, 0.01, 0.01, "buzzes")
    hurdles = (
        Hurdle(Member("margin", 1, 2, 3), 0.05, 0.01, 0.1),
        Hurdle(Member("cut", 1, 0, 7), 0.62, 0.01, 0.0),
        Hurdle(Member("action", 1), 1.9, 0.01, 1.8),
    )
    plan = replace(
        whole.plan,
        feasible=False,
        remove_mm=np.zeros((frets, strings)),
        short=(short, replace(short, string=strings, worst_at=frets, clearance_mm=0.06)),
        blocking=(Blocking(hurdles, 0.011, False),),
        refret=(Refret(7, "0.62 mm high under string 1, the player needs 0.60 mm"),),
        cures=(Cure("free", 0.212, free=("nut",)), Cure("softer", 0.9, amount=0.41)),
    )
    return replace(whole, plan=plan, cuts=(), law=None, strung_end=None)


def tight(setup: Setup, string: int) -> Tight:
    """Held at fret 2; the worst string touches now, the one that is cut most loses 20 µm."""
    at = np.arange(3, setup.frets + 1)
    swing = 0.1 + 0.02 * np.arange(at.size)
    over = 0.03 + 0.01 * np.arange(at.size)
    cut = np.zeros(at.size)
    if string == MOST_CUT:
        cut[1] = 0.02
    now = swing + over - cut
    if string == WORST:
        now[1] = swing[1] - 0.015
    x = setup.x_mm[:, string - 1]
    u = np.full(at.size, 0.005)
    return Tight(
        string, 2, False, float(x[1]), at, x[at - 1], now, swing + over, cut,
        swing - 0.01, swing, u, swing + 2.0 * u,
    )  # fmt: skip


def _sensitivity(strings: int) -> Sensitivity:
    action = np.full(strings, 1.7)

    def step(kind: Kind, metal: float, by: float = 0.0, what: str = "",
             string: int | None = None) -> Step:  # fmt: skip
        return Step(kind, by, what, string, bool(np.isfinite(metal)), metal, 0.1, action)

    steps = (
        step("action", 0.5, -0.1), step("action", 0.12, 0.1), step("action", 0.0, 0.2),
        step("string", 0.2, 0.1, string=1), step("string", 0.25, 0.1, string=strings),
        step("force", 0.2, -0.05), step("force", 5.0, 0.05),
        step("fret", np.nan, 0.1), step("profile", 0.05, what="gentle"),
        step("profile", np.nan, what="hard"), step("keep", 0.31, what="rod"),
        step("free", 0.1, what="nut"), step("rod", 0.4, 0.25),
    )  # fmt: skip
    slopes = Slopes(np.full(strings, -1.0), 2.0, 0.05)
    holding = (Holding(1, 2, False, 3, 0.1, 1.2),)
    return Sensitivity(step("plan", PLANNED_MM), 0.01, steps, slopes, holding)


def _price() -> UncertaintyPrice:
    savings = (
        Saving("unstrung again", 0.02, True),
        Saving("heights", 0.05, True, 0.01),
        Saving("tension", 0.001, True),
        Saving("everything", 0.12, True),
    )
    return UncertaintyPrice(PLANNED_MM, True, 0.02, savings)


def _life(frets: int) -> Life:
    """Fret 5 has less than one dressing left, fret 3 four, fret 2 is not known."""
    left = dict.fromkeys(range(1, frets + 1), 25.0) | {5: 0.4, 3: 4.6, 2: float("nan")}
    lives = [
        FretLife(n, 0 if np.isnan(count) else 1, 0.9, 0.01, 0.05 * count, 0.05 * (n == 3), 0.05,
                 count)
        for n, count in sorted(left.items(), key=lambda pair: (np.isnan(pair[1]), pair[1]))
    ]  # fmt: skip
    return Life(tuple(lives), 0.05, False, 0.4, ())


def _chokes(frets: int, strings: int) -> Chokes:
    """String 1 chokes bent at 3, may choke at 4; at 5 it may be bent half a semitone."""
    widest = np.full((frets, strings), 4.0)
    widest[2:5, 0] = 0.0, 1.5, 0.5
    after = (
        Choke(1, 3, 4, -0.01, 0.004, 0.05, "buzzes", None, 260.0),
        Choke(1, 4, 5, 0.05, 0.004, 0.01, "undecided", 300.0, 262.0),
    )
    return Chokes(after, after, None, widest - 0.0, widest)


def _cuts(frets: int, strings: int) -> tuple[Cut, ...]:
    verdicts = ("within", "under", "over", "undecided")
    seen = [
        Cut(1 + n % frets, 1 + n % strings, 5.0 + 3.0 * n, 5.5 + 2.6 * n, 1.2, verdicts[n % 4])
        for n in range(16)
    ]
    return (*seen, Cut(frets, 1, 9.0, float("nan"), float("nan"), "undecided"))


def _end(frets: int, strings: int) -> StrungThen:
    relief = tuple(
        StringRelief(s, 0.2, 0.009, 0.21 + 0.002 * s, 0.002, 0.01, 0.009, "as predicted")
        for s in range(1, strings + 1)
    )
    sizes = (frets, strings)
    check = StrungCheck(
        relief, 0.05, 0.01, 0.002, np.full(sizes, 0.7), np.full(sizes, 1.0), np.zeros(sizes, bool)
    )
    margins = tuple(
        Clearance(s, n, n + 1, bend, 0.2, 0.1, 0.01, 0.01, "clear")
        for s in range(1, strings + 1)
        for bend in (False, True)
        for n in range(int(bend), frets)
    )
    return StrungThen(check, margins, "planned")
