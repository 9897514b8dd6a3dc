"""Planned against achieved, after a simulated cut of 88 %."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from analysis.after.laid import laid_over
from analysis.after.law import Session, fit_law
from analysis.after.verify import achieved_um, judge_cuts
from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck

GAIN = 0.88


@dataclass
class Cutting:
    before: Neck
    after: Neck
    planned_um: np.ndarray
    removed_um: np.ndarray


def cut(neck: Any, planned_um: np.ndarray, seed: int, moved: bool = True) -> Cutting:
    """Takes off 88 % with the hand's scatter of 0.5 um, and lays the neck on the rig anew."""
    rng = np.random.default_rng(seed)
    scatter = rng.normal(0.0, 0.5, planned_um.shape)
    removed = np.where(planned_um > 0, GAIN * planned_um + scatter, 0.0)
    filed = replace(neck, height_mm=neck.heights() - 1e-3 * removed)
    if moved:
        bow = neck.bow_mm
        filed = replace(
            filed,
            bow_mm=lambda x: bow(x) + 0.05 - 2e-4 * x + 2e-7 * x**2,
            roll_mrad=neck.roll_mrad + 1.0,
            nut_mm=neck.nut_mm + 0.7,
        )
    walnut = neck.instrument
    return Cutting(
        read_neck(neck.profiles(seed=seed), walnut, Tip(1.0)),
        read_neck(filed.profiles(seed=seed + 100), walnut, Tip(1.0)),
        planned_um,
        removed,
    )


@pytest.fixture(scope="module")
def some(make_neck: Callable[..., Any], walnut: Instrument) -> Cutting:
    """Seven frets cut, deeper on the bass side."""
    rng = np.random.default_rng(5)
    planned = np.zeros((22, 6))
    for fret in (2, 3, 7, 8, 11, 14, 19):
        planned[fret] = rng.uniform(8.0, 30.0) + 4.0 * np.arange(6)
    neck = make_neck(walnut, height_mm=1.1 + rng.normal(0, 0.02, (22, 1)) * np.ones(6))
    return cut(neck, planned, 1)


@pytest.fixture(scope="module")
def everywhere(make_neck: Callable[..., Any], walnut: Instrument) -> Cutting:
    """Every fret cut under every string: only the board is left to lie on."""
    planned = np.random.default_rng(6).uniform(10.0, 50.0, (22, 1)) * np.ones(6)
    return cut(make_neck(walnut), planned, 2)


@pytest.mark.parametrize("which", ["some", "everywhere"])
def test_what_came_off(which: str, walnut: Instrument, request: pytest.FixtureRequest) -> None:
    job: Cutting = request.getfixturevalue(which)
    achieved, u = achieved_um(job.before, job.after, job.planned_um, walnut)
    off = achieved - job.removed_um
    assert np.std(off) < 1.6
    # the field through the board, where every fret was cut, is known to a micrometre or two
    assert abs(np.mean(off)) < 1.5
    assert np.mean(np.abs(off) < 2.0 * u) > 0.9


@pytest.mark.parametrize("which", ["some", "everywhere"])
def test_gain_of_88_per_cent_is_learnt(
    which: str, walnut: Instrument, request: pytest.FixtureRequest
) -> None:
    job: Cutting = request.getfixturevalue(which)
    achieved, u = achieved_um(job.before, job.after, job.planned_um, walnut)
    chosen = job.planned_um > 0
    once = Session(job.planned_um[chosen], achieved[chosen], np.full(chosen.sum(), 0.03), u[chosen])
    law = fit_law([once])
    assert law.gain == pytest.approx(GAIN, abs=0.03)
    assert law.offset_um == pytest.approx(0.0, abs=1.5)


def test_nothing_cut_is_nothing_achieved(some: Cutting, walnut: Instrument) -> None:
    achieved, u = achieved_um(some.before, some.after, some.planned_um, walnut)
    untouched = some.planned_um == 0.0
    assert np.mean(np.abs(achieved[untouched]) < 2.0 * u[untouched]) > 0.9
    assert np.max(np.abs(achieved[untouched])) < 6.0


def test_a_fret_cut_without_a_plan_shows(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    """Fret 10 lost 40 um that nobody planned: it is no part of the field, and is seen."""
    planned = np.zeros((22, 6))
    planned[4] = 20.0
    neck = make_neck(walnut)
    filed = replace(neck, height_mm=neck.heights() - np.eye(22)[:, [9]] * 0.04)
    before = read_neck(neck.profiles(seed=1), walnut, Tip(1.0))
    after = read_neck(filed.profiles(seed=2), walnut, Tip(1.0))
    achieved, _ = achieved_um(before, after, planned, walnut)
    np.testing.assert_allclose(achieved[9], 40.0, atol=5.0)
    assert np.max(np.abs(np.delete(achieved, 9, axis=0))) < 6.0


def test_lanes_that_were_not_scanned_are_unknown(some: Cutting, walnut: Instrument) -> None:
    """Without string 3's lane in the second scan, what came off there is not known."""
    lane = int(np.flatnonzero(some.after.string == 3.0)[0])
    fewer = replace(
        some.after,
        **{
            name: np.delete(getattr(some.after, name), lane, axis=-1)
            for name in ("string", "x_mm", "y_mm", "top_mm", "u_top_mm", "u_rail_mm", "flat_mm",
                         "u_flat_mm", "radius_mm", "ways_um", "gap_x_mm", "board_mm", "u_board_mm",
                         "height_mm", "u_height_mm")
        },
    )  # fmt: skip
    achieved, u = achieved_um(some.before, fewer, some.planned_um, walnut)
    assert np.isnan(achieved[:, 2]).all()
    assert np.isfinite(np.delete(achieved, 2, axis=1)).all()
    verdicts = {c.verdict for c in judge_cuts(some.planned_um, achieved, u) if c.string == 3}
    assert verdicts == {"undecided"}


def test_verdicts_of_the_simulated_cuts(some: Cutting, walnut: Instrument) -> None:
    """12 % short of 10 um is within, of 50 um it is 6 um: under."""
    achieved, u = achieved_um(some.before, some.after, some.planned_um, walnut)
    cuts = judge_cuts(some.planned_um, achieved, u)
    assert len(cuts) == np.count_nonzero(some.planned_um)
    assert not any(c.verdict == "over" for c in cuts)
    for c in cuts:
        assert c.planned_um == some.planned_um[c.fret - 1, c.string - 1]
        assert c.achieved_um == achieved[c.fret - 1, c.string - 1]


@pytest.mark.parametrize(
    ("planned", "achieved", "u", "verdict"),
    [
        (10.0, 10.0, 0.5, "within"),
        (10.0, 13.0, 0.5, "undecided"),
        (10.0, 14.1, 0.5, "over"),
        (10.0, 5.9, 0.5, "under"),
        (60.0, 65.0, 0.4, "over"),  # 5 um too low is 5 um too low, however deep the plan
        (10.0, 10.0, 2.0, "undecided"),  # too little is known
        (10.0, np.nan, np.nan, "undecided"),
    ],
)
def test_verdicts(planned: float, achieved: float, u: float, verdict: str) -> None:
    (found,) = judge_cuts(np.array([[planned]]), np.array([[achieved]]), np.array([[u]]))
    assert found.verdict == verdict


def test_tops_laid_over_one_another_are_as_far_apart_as_what_came_off(
    some: Cutting, walnut: Instrument
) -> None:
    came_off, u = achieved_um(some.before, some.after, some.planned_um, walnut)
    for string in (1, 5):
        laid = laid_over(some.before, some.after, some.planned_um, walnut, string)
        assert laid is not None
        apart = 1e3 * (laid.before_mm - laid.after_mm)
        np.testing.assert_allclose(apart, came_off[:, string - 1], atol=1e-9)
        both = 1e3 * np.hypot(laid.u_before_mm, laid.u_after_mm)
        np.testing.assert_allclose(both, u[:, string - 1], rtol=1e-9)
    assert laid_over(some.before, some.after, some.planned_um, walnut, 40) is None
