"""Repeated scans laid over one another: what counts as scatter, and which neck is another."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.terms import Terms
from analysis.neck.tops import Tops
from analysis.repeats.repeatability import Repeatability, study
from analysis.repeats.repeated import Repeated, RepeatedError, check_same_neck, lay_over

STRINGS = np.array([1.0, 3.0, 6.0])
Change = Callable[[int, np.ndarray, np.ndarray], np.ndarray]


def _level(clamping: int, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return np.zeros_like(x)


def made(
    instrument: Instrument,
    noise_um: float = 1.0,
    change: Change = _level,
    clampings: int = 3,
    scans: int = 3,
    u_um: float = 1.0,
    seed: int = 1,
) -> list[list[Tops]]:
    """A bowed neck on the rig: every scan stands elsewhere, every clamping adds its change."""
    rng = np.random.default_rng(seed)
    x = instrument.fret_x_mm(np.arange(1.0, 23.0)[:, None], STRINGS[None, :])
    y = instrument.string_y_mm(STRINGS[None, :], x)
    shape = -0.2 * np.sin(np.pi * x / 400.0) - y**2 / 600.0

    def one(clamping: int) -> Tops:
        stand = rng.normal(0.0, [0.2, 4e-4, 1e-3])
        lies = stand[0] + stand[1] * x + stand[2] * y
        z = shape + lies + change(clamping, x, y) + 1e-3 * noise_um * rng.normal(size=x.shape)
        u = np.full(x.shape, 1e-3 * u_um)
        return Tops(x, y, z, Terms({"noise": 0.6 * u, "drift": 0.0 * u, "crown": 0.0 * u,
                    "tip": 0.8 * u}), x, u, x, np.full(x.shape, "ok"))  # fmt: skip

    return [[one(c) for _ in range(scans)] for c in range(clampings)]


def read(tops: list[list[Tops]], instrument: Instrument) -> tuple[Repeated, Repeatability]:
    laid = lay_over(tops, instrument.body_joint_fret)
    check_same_neck(laid, tops[0][0].x_mm, STRINGS)
    return laid, study(laid)


def test_noise_is_found_and_standing_elsewhere_is_not_noise(walnut: Instrument) -> None:
    found = [read(made(walnut, seed=s), walnut)[1].tops.anova for s in range(20)]
    assert np.sqrt(np.mean([one.ms_within for one in found])) == pytest.approx(1e-3, rel=0.02)
    assert np.sqrt(np.mean([one.ms_between for one in found])) == pytest.approx(1e-3, rel=0.04)


def test_intervals_hold_the_noise(walnut: Instrument) -> None:
    """Planes taken off and given back: 95 % intervals of s_r still hold 1 um."""
    spreads = [read(made(walnut, seed=s), walnut)[1].tops.s_r for s in range(300)]
    held = np.mean([one.low <= 1e-3 <= one.high for one in spreads])
    assert 0.91 < held < 0.99


def _bend(clamping: int, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 0.01 * (clamping - 1) * (x / 400.0) * (1.0 - x / 400.0)


def test_a_bend_by_clamping_is_found(walnut: Instrument) -> None:
    """Off its best plane the bend is what it is, over the frets: rms computed here."""
    tops = made(walnut, 0.3, _bend)
    _, found = read(tops, walnut)
    x, y = tops[0][0].x_mm.ravel(), tops[0][0].y_mm.ravel()
    bend = _bend(2, x, y)
    design = np.column_stack([np.ones_like(x), x, y])
    rms = np.std(bend - design @ np.linalg.lstsq(design, bend, rcond=None)[0])
    assert found.tops.anova.s_l == pytest.approx(rms, rel=0.1)
    assert found.tops.anova.p < 1e-6
    assert found.relief is not None
    assert found.relief.anova.s_l > 3.0 * found.relief.anova.s_r
    assert found.gauge.av == pytest.approx(found.tops.anova.s_l, rel=0.05)
    assert found.gauge.ev == pytest.approx(found.tops.anova.s_r, rel=0.05)


def test_what_is_stated_holds_or_not(walnut: Instrument) -> None:
    laid, fair = read(made(walnut), walnut)
    assert laid.u_mm == pytest.approx(1e-3)
    assert laid.u_random_mm == pytest.approx(0.6e-3)
    assert fair.tops.holds
    assert fair.tops.chance_random < 1e-6
    repeat, clamping = fair.tops.measured_terms
    assert repeat.u == pytest.approx(np.sqrt(fair.tops.anova.ms_within - 0.36e-6))
    assert (clamping.u, clamping.dof) == (fair.tops.anova.s_l, 2.0)
    assert not read(made(walnut, noise_um=1.3), walnut)[1].tops.holds


def test_a_top_that_one_scan_missed_is_left_out(walnut: Instrument) -> None:
    tops = made(walnut)
    tops[1][2].z_mm[4, 1] = np.nan
    laid, found = read(tops, walnut)
    assert np.argwhere(~laid.seen).tolist() == [[4, 1]]
    assert np.isnan(found.s_r_mm[4, 1])
    assert np.count_nonzero(np.isfinite(found.s_big_r_mm)) == 65


def test_a_lane_without_its_chord_has_no_relief(walnut: Instrument) -> None:
    tops = made(walnut)
    tops[0][0].z_mm[0, :] = np.nan
    assert read(tops, walnut)[1].relief is None


def test_too_few_tops_are_refused(walnut: Instrument) -> None:
    tops = made(walnut)
    tops[0][0].z_mm[2:] = np.nan
    with pytest.raises(RepeatedError, match="only 6 fret tops were seen in every scan"):
        lay_over(tops, walnut.body_joint_fret)


def test_a_fret_that_moves_by_itself_is_named(walnut: Instrument) -> None:
    def loose(clamping: int, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        out = _bend(clamping, x, y)
        out[8, 1] -= 0.03 * (clamping == 2)
        return out

    with pytest.raises(RepeatedError, match=r"clampings 2 and 3 the top of fret 9 at string 3 mov"):
        read(made(walnut, change=loose), walnut)


def test_a_neck_bent_too_far_is_named(walnut: Instrument) -> None:
    def rod(clamping: int, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 60.0 * _bend(clamping, x, y) * (clamping == 2)

    with pytest.raises(RepeatedError, match=r"between clampings 2 and 3 the neck bent by 1\d\d µm"):
        read(made(walnut, change=rod), walnut)
