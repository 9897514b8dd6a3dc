"""Each cure works with it in place, and slightly less of it does not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.cure import Cure, CureKind, cheapest_first, least_steps
from analysis.plan.cures import cures, refrets
from analysis.plan.easing import BEND_STEP, FORCE_STEP_N, FRET_STEP_MM, SCREW_STEP_MM
from analysis.plan.limits import Limits
from analysis.plan.measuring import SHARE_STEP
from analysis.plan.planner import Planner, planner_for
from analysis.plan.programme import Programme, Solution
from analysis.plan.refret import NEW_CROWN_MM, fewest_hitting, with_new_frets
from analysis.plan.target import Target
from analysis.rod.rod import default_rod
from analysis.strings.playing import PlayingProfile, built_in_profile

MakeShape = Callable[..., Shape]
NONE = Target()
PLAYER = replace(
    built_in_profile("everyday", 2),
    pluck_force_n=0.5,
    bend_semitones=0.0,
    highest_action_mm={1: 1.9, 2: 2.1},
)


class Case:
    """A tiny neck, a player, what is kept."""

    def __init__(
        self,
        instrument: Instrument,
        shape: Shape,
        playing: PlayingProfile = PLAYER,
        target: Target = NONE,
    ) -> None:
        self.instrument, self.shape, self.playing, self.target = instrument, shape, playing, target
        self.planner: Planner = self.planner_for(playing)

    def planner_for(self, playing: PlayingProfile) -> Planner:
        rod = default_rod(self.instrument, self.shape.x_mm)
        return planner_for(self.shape, self.instrument, playing, rod)

    def cure(self, kind: CureKind) -> Cure:
        assert not self.solved(self.playing).feasible
        (found,) = [c for c in cures(self.planner, self.playing, self.target) if c.kind == kind]
        return found

    def solved(self, playing: PlayingProfile) -> Solution:
        """By a neck made anew, so that nothing is left of what was solved before."""
        planner = self.planner_for(playing)
        return planner.solve(playing, planner.limits(playing, self.target))

    def within(self, limits: Limits) -> Solution:
        planner = self.planner_for(self.playing)
        return planner.solve(self.playing, limits)

    def limits(self) -> Limits:
        return self.planner.limits(self.playing, self.target)


@pytest.fixture
def uneven(tiny: Instrument, make_shape: MakeShape) -> Callable[..., Shape]:
    def make(seed: int = 1, scatter_mm: float = 0.04, u_mm: float = 0.001, **how: float) -> Shape:
        high = 1.1 + np.random.default_rng(seed).normal(0.0, scatter_mm, (tiny.frets, 2))
        for fret, by in how.items():
            high[int(fret[1:]) - 1] += by
        return make_shape(tiny, high, relief_mm=0.1, u_mm=u_mm)

    return make


Uneven = Callable[..., Shape]


def test_softer(tiny: Instrument, uneven: Uneven) -> None:
    case = Case(tiny, uneven(), replace(PLAYER, highest_action_mm={1: 1.4, 2: 1.6}))
    cure = case.cure("softer")
    with_it = case.solved(replace(case.playing, pluck_force_n=cure.amount))
    assert with_it.feasible
    assert with_it.metal_mm == pytest.approx(cure.metal_mm, abs=2e-3)
    harder = replace(case.playing, pluck_force_n=cure.amount + FORCE_STEP_N)
    assert not case.solved(harder).feasible


def test_lower_frets(tiny: Instrument, uneven: Uneven) -> None:
    case = Case(tiny, uneven(scatter_mm=0.1), replace(PLAYER, least_fret_mm=1.1))
    cure = case.cure("lower frets")
    assert case.solved(replace(case.playing, least_fret_mm=cure.amount)).feasible
    higher = replace(case.playing, least_fret_mm=cure.amount + FRET_STEP_MM)
    assert not case.solved(higher).feasible


def test_narrower_bends(tiny: Instrument, make_shape: MakeShape) -> None:
    """A crown that stands up between the strings is in the way of bends alone."""
    shape = make_shape(tiny, np.full((13, 2), 1.0), relief_mm=0.1)
    shape.between_mm[8] += 0.4
    playing = replace(PLAYER, bend_semitones=2.0, least_fret_mm=0.9)
    case = Case(tiny, shape, playing)
    cure = case.cure("bends")
    assert cure.amount < 2.0
    assert case.solved(replace(playing, bend_semitones=cure.amount)).feasible
    assert not case.solved(replace(playing, bend_semitones=cure.amount + BEND_STEP)).feasible


def test_rod_further_than_a_plan_turns_it(tiny: Instrument, make_shape: MakeShape) -> None:
    """A neck bowed the wrong way by more than half a turn cures."""
    shape = make_shape(tiny, np.full((13, 2), 1.0), relief_mm=-0.32)
    playing = replace(PLAYER, least_fret_mm=0.99, highest_action_mm={1: 2.0, 2: 2.2})
    case = Case(tiny, shape, playing)
    cure = case.cure("rod")
    assert cure.amount < -case.planner.rod.most_turns
    for further, works in ((0.0, True), (-0.25, False)):
        turns = np.ceil(abs(cure.amount) / 0.25) * 0.25 + further
        rod = replace(case.planner.rod, most_turns=turns)
        limits = replace(case.planner, rod=rod).limits(playing, NONE)
        assert case.within(limits).feasible == works


def test_saddles_past_their_range(tiny: Instrument, make_shape: MakeShape) -> None:
    low = replace(tiny, action_mm=(0.3, 0.3))
    case = Case(
        low,
        make_shape(low, np.full((13, 2), 1.0), relief_mm=0.1),
        replace(PLAYER, least_fret_mm=0.99),
        Target(frozenset({"rod", "nut"})),
    )
    cure = case.cure("saddles")
    past = max(cure.raise_mm)
    limits = case.limits()
    least, most = limits.saddle_mm
    assert case.within(replace(limits, saddle_mm=(least - past, most + past + 1e-6))).feasible
    less = past - SCREW_STEP_MM - 1e-6
    assert not case.within(replace(limits, saddle_mm=(least - less, most + less))).feasible


def test_nut_past_what_a_slot_is_filled(tiny: Instrument, make_shape: MakeShape) -> None:
    low = replace(tiny, nut_gap_mm=(-0.2, -0.2))
    case = Case(
        low,
        make_shape(low, np.full((13, 2), 1.0), relief_mm=0.1),
        replace(PLAYER, least_fret_mm=0.99),
        Target(frozenset({"rod"})),
    )
    cure = case.cure("nut")
    past = max(cure.raise_mm)
    limits = case.limits()
    least, most = limits.nut_mm
    assert case.within(replace(limits, nut_mm=(least, most + past + 1e-6))).feasible
    less = past - SCREW_STEP_MM - 1e-6
    assert not case.within(replace(limits, nut_mm=(least, most + less))).feasible


def test_scanning_again_where_only_the_guard_is_missed(tiny: Instrument, uneven: Uneven) -> None:
    rough = replace(PLAYER, highest_action_mm={1: 1.75, 2: 1.95}, least_fret_mm=0.9)
    case = Case(tiny, uneven(scatter_mm=0.01, u_mm=0.03), rough)
    cure = case.cure("scan again")
    shape = case.shape
    for share, works in ((cure.amount, True), (cure.amount + SHARE_STEP, False)):
        better = replace(
            shape,
            u_top_mm=share * shape.u_top_mm,
            u_between_mm=share * shape.u_between_mm,
            u_height_mm=share * shape.u_height_mm,
        )
        assert Case(tiny, better, rough).solved(rough).feasible == works


def test_measuring_string_heights_again(tiny: Instrument, uneven: Uneven) -> None:
    by_eye = replace(tiny, u_action_mm=0.15)
    low = replace(PLAYER, highest_action_mm={1: 1.75, 2: 1.95})
    shape = uneven(scatter_mm=0.01)
    case = Case(by_eye, shape, low)
    cure = case.cure("heights again")
    for u, works in ((cure.amount, True), (cure.amount + 0.15 * SHARE_STEP, False)):
        assert Case(replace(tiny, u_action_mm=u), shape, low).solved(low).feasible == works


def test_freed_singly_or_in_pairs_but_nothing_that_is_not_needed(
    tiny: Instrument, uneven: Uneven
) -> None:
    every = frozenset({"rod", "nut", "saddles"})
    case = Case(tiny, uneven(), replace(PLAYER, least_fret_mm=1.0), Target(every))
    assert not case.solved(case.playing).feasible
    freed = [frozenset(c.free) for c in cures(case.planner, case.playing, case.target) if c.free]
    assert freed

    def works(free: frozenset[str]) -> bool:
        planner = case.planner_for(case.playing)
        return planner.solve(
            case.playing, planner.limits(case.playing, Target(every - free))
        ).feasible

    for count in (1, 2, 3):
        for free in map(frozenset, combinations(sorted(every), count)):
            smaller = any(one < free for one in freed)
            assert (free in freed) == (works(free) and not smaller)


def subsets(frets: int, most: int) -> Iterator[frozenset[int]]:
    for count in range(most + 1):
        yield from map(frozenset, combinations(range(1, frets + 1), count))


@pytest.mark.parametrize("worn", [{"f5": -0.35}, {"f5": -0.35, "f9": -0.3}, {"f1": -0.4}])
def test_refret_names_the_fewest_of_all_sets(
    tiny: Instrument, uneven: Uneven, worn: dict[str, float]
) -> None:
    playing = replace(PLAYER, least_fret_mm=0.6, highest_action_mm={1: 1.75, 2: 1.95})
    shape = uneven(scatter_mm=0.02, **worn)
    # frets left that may hardly be cut: the worn ones are no reason to cut all the others
    shape.height_mm[:] = np.maximum(shape.height_mm - 0.45, 0.6)
    case = Case(tiny, shape, playing, Target(frozenset({"rod"})))
    cure = case.cure("refret")

    def works(new: frozenset[int]) -> bool:
        again = with_new_frets(case.planner, new, NEW_CROWN_MM[1])
        limits = again.limits(playing, case.target)
        return Programme(again.rows, again.margins, limits).solve(again.margins, limits).feasible

    assert works(frozenset(cure.frets))
    for fewer in subsets(tiny.frets, len(cure.frets) - 1):
        assert not works(fewer)
    named = {one.fret for one in refrets(case.planner, playing, (cure,))}
    assert named == set(cure.frets)


def test_a_new_fret_leaves_nut_and_saddles_where_they_are(tiny: Instrument, uneven: Uneven) -> None:
    """Only what touches the new fret changes, by as much as it is higher."""
    case = Case(tiny, uneven())
    again = with_new_frets(case.planner, frozenset({12}), 1.3)
    before, after = case.planner, again
    np.testing.assert_allclose(after.setup.top_mm[11], before.setup.top_mm[11] + 1.3
                               - before.shape.height_mm[11])  # fmt: skip
    rise = after.setup.top_mm[11] - before.setup.top_mm[11]
    np.testing.assert_allclose(before.rows.action_now_mm - after.rows.action_now_mm, rise)
    rows = before.margins
    other = (rows.fretted != 12) & (rows.at != 12)
    np.testing.assert_allclose(after.rows.now_mm[other], before.rows.now_mm[other])
    over = (rows.fretted == 3) & (rows.at == 12)
    change = after.rows.now_mm[over] - before.rows.now_mm[over]
    np.testing.assert_allclose(change, -rise[rows.string[over] - 1])
    assert np.all(again.shape.height_mm[11] == 1.3)


def test_fewest_hitting_sets_are_all_of_the_fewest() -> None:
    to_hit = [frozenset({1, 2}), frozenset({2, 3}), frozenset({3, 4}), frozenset({5})]
    found = fewest_hitting(to_hit, 4)
    assert found == [frozenset(s) for s in ({1, 3, 5}, {2, 3, 5}, {2, 4, 5})]
    assert fewest_hitting([], 3) == [frozenset()]
    assert fewest_hitting(to_hit, 2) == []


def test_cheapest_first() -> None:
    kinds: tuple[CureKind, ...] = ("refret", "lower frets", "softer", "action", "scan again")
    metal = (0.1, 0.2, 0.3, 0.4, 9.0)
    found = [Cure(kind, mm) for kind, mm in zip(kinds, metal, strict=True)]
    found.append(Cure("free", 0.05))
    assert [c.kind for c in cheapest_first(found)] == [
        "scan again", "free", "action", "softer", "lower frets", "refret",
    ]  # fmt: skip


@pytest.mark.parametrize("least", range(1, 10))
def test_least_steps_by_bisection(least: int, tiny: Instrument, uneven: Uneven) -> None:
    met = Case(tiny, uneven(scatter_mm=0.0)).solved(replace(PLAYER, pluck_force_n=0.1))
    assert met.feasible
    missed = replace(met, action_short_mm=np.ones(2))
    asked = []

    def solved(steps: int) -> Solution:
        asked.append(steps)
        return met if steps >= least else missed

    found = least_steps(solved, 9)
    assert found is not None
    assert found[0] == least
    assert least in asked
    assert least == 1 or least - 1 in asked
    assert least_steps(solved, least - 1) is None if least > 1 else True
