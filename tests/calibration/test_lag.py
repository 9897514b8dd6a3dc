"""Lag and backlash from passes both ways at two speeds over a neck."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from calibration.correct import correct, pairs_both_ways, self_lag
from calibration.lag import Lag, LagError, fit_lag, match_shift
from calibration.passes import Pad, RawPass
from calibration.profile import Profile

MakePass = Callable[..., RawPass]
LAG_S, BACKLASH_MM = 3.2e-3, 0.035


@pytest.fixture(scope="module")
def neck_surface(make_neck: Callable[..., Any], walnut: Any) -> Callable[[np.ndarray], np.ndarray]:
    """The ridden neck on the rail, nothing beside it but the pads."""
    neck = make_neck(walnut)

    def surface(x: np.ndarray) -> np.ndarray:
        z = neck.ridden_mm(x - neck.nut_mm, 2.5, 1.0)
        return np.where((x < 16.0) | (x > 600.0), 0.0, z)

    return surface


def both_ways(
    make_pass: MakePass, surface: Any, speed: float, seed: int, noise: float = 0.002, **how: float
) -> list[RawPass]:
    return [
        make_pass(
            surface, direction=d, speed=speed, rate_hz=16.0 * speed, lag_s=LAG_S,
            backlash_mm=BACKLASH_MM, noise_mm=noise, seed=10 * seed + d + 1, **how,
        )
        for d in (1, -1)
    ]  # fmt: skip


def shifts(
    make_pass: MakePass, surface: Any, pads: tuple[Pad, ...], speeds: tuple[float, ...], seed: int
) -> list[tuple[float, float, float]]:
    found = []
    for k, speed in enumerate(speeds):
        raw = both_ways(make_pass, surface, speed, 10 * seed + k, quantum_mm=0.001)
        forward, backward = correct(raw, pads, 0.001, None, None)
        found.append((speed, *match_shift(forward, backward)))
    return found


def test_lag_and_backlash_are_recovered(
    make_pass: MakePass, neck_surface: Any, pads: tuple[Pad, ...]
) -> None:
    for seed in range(3):
        lag = fit_lag(shifts(make_pass, neck_surface, pads, (12.0, 30.0), seed))
        assert lag.lag_s == pytest.approx(LAG_S, abs=0.05e-3)
        assert lag.backlash_mm == pytest.approx(BACKLASH_MM, abs=0.002)


def test_one_shift_is_right_within_two_micrometres(
    make_pass: MakePass, neck_surface: Any, pads: tuple[Pad, ...]
) -> None:
    true = 2.0 * 25.0 * LAG_S + BACKLASH_MM
    found = np.array(
        [shifts(make_pass, neck_surface, pads, (25.0,), seed)[0][1:] for seed in range(12)]
    )
    off = found[:, 0] - true
    assert np.max(np.abs(off)) < 2e-3
    # the two passes' own noise in their slopes is not in u: it says about a third of the scatter
    assert np.sqrt(np.mean((off / found[:, 1]) ** 2)) < 5.0
    assert np.all(found[:, 1] < 1e-3)


def test_spikes_do_not_move_the_match(
    make_pass: MakePass, neck_surface: Any, pads: tuple[Pad, ...]
) -> None:
    raw = both_ways(make_pass, neck_surface, 25.0, 3)
    for one in raw:
        one.z_mm[np.random.default_rng(1).integers(0, one.z_mm.size, 80)] += 0.4
    forward, backward = correct(raw, pads, 0.001, None, None)
    shift, _ = match_shift(forward, backward)
    assert shift == pytest.approx(2.0 * 25.0 * LAG_S + BACKLASH_MM, abs=0.002)


def test_an_even_surface_is_refused(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    raw = both_ways(make_pass, lambda x: 1e-4 * x, 25.0, 1)
    forward, backward = correct(raw, pads, 0.001, None, None)
    with pytest.raises(LagError, match="too even"):
        match_shift(forward, backward)


def test_short_overlap_is_refused(make_profile: Callable[..., Profile]) -> None:
    x = np.arange(0.0, 60.0, 0.1)
    one, other = make_profile(x, np.sin(x)), make_profile(x + 45.0, np.sin(x))
    with pytest.raises(LagError, match="less than 20 mm"):
        match_shift(one, other)


def test_contact_position_undoes_both(make_pass: MakePass) -> None:
    """Over a slope the height says where the tip was."""
    lag = Lag(LAG_S, 0.0, BACKLASH_MM, 0.0)
    for direction in (1, -1):
        one = make_pass(lambda x: x, direction=direction, lag_s=LAG_S, backlash_mm=BACKLASH_MM)
        at = lag.contact_x_mm(one.t_s, one.x_mm, direction)
        np.testing.assert_allclose(at[5:], one.z_mm[5:], atol=1e-9)


def test_contact_position_while_speeding_up() -> None:
    """Counts of one lag ago, not speed times lag: right at the start of a pass, too."""
    t = np.arange(0.0, 1.0, 1e-3)
    x = 20.0 * t**2
    at = Lag(0.05, 0.0, 0.0, 0.0).contact_x_mm(t, x, 1)
    np.testing.assert_allclose(at[100:], 20.0 * (t[100:] - 0.05) ** 2, atol=1e-4)


@pytest.mark.parametrize("speeds", [(25.0,), (25.0, 25.0), (25.0, 29.9)])
def test_one_speed_is_not_enough(speeds: tuple[float, ...]) -> None:
    with pytest.raises(LagError, match="two speeds"):
        fit_lag([(v, 0.1, 0.001) for v in speeds])


def test_nothing_at_all_is_not_enough() -> None:
    with pytest.raises(LagError, match="two speeds"):
        fit_lag([])


def test_uncertainty_grows_where_the_pairs_scatter() -> None:
    calm = [(10.0, 0.1, 1e-4), (20.0, 0.16, 1e-4), (30.0, 0.22, 1e-4), (40.0, 0.28, 1e-4)]
    wild = [(v, s + e, u) for (v, s, u), e in zip(calm, (0.01, -0.01, -0.01, 0.01), strict=True)]
    assert fit_lag(calm).lag_s == pytest.approx(3e-3, abs=1e-12)
    assert fit_lag(calm).backlash_mm == pytest.approx(0.04, abs=1e-9)
    assert fit_lag(wild).u_lag_s > 50.0 * fit_lag(calm).u_lag_s


def test_stated_uncertainty_of_the_fit_covers() -> None:
    rng = np.random.default_rng(2)
    v = np.array([10.0, 10.0, 30.0, 30.0])
    off = []
    for _ in range(300):
        shift = 2.0 * v * LAG_S + BACKLASH_MM + rng.normal(0.0, 5e-4, 4)
        lag = fit_lag([(a, b, 5e-4) for a, b in zip(v, shift, strict=True)])
        off.append(abs(lag.lag_s - LAG_S) < 2.0 * lag.u_lag_s)
    assert np.mean(off) > 0.92


def test_self_lag_lays_both_ways_over_one_another(
    make_pass: MakePass, neck_surface: Any, pads: tuple[Pad, ...]
) -> None:
    raw = both_ways(make_pass, neck_surface, 25.0, 5)
    rough = correct(raw, pads, 0.001, None, None)
    lag = self_lag(rough, 25.0)
    assert lag is not None
    assert match_shift(*correct(raw, pads, 0.001, lag, None))[0] == pytest.approx(0.0, abs=1e-3)


def test_self_lag_of_passes_one_way(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    one = correct([make_pass(lambda x: np.sin(x))], pads, 0.001, None, None)
    assert self_lag(one, 25.0) is None


def test_pairs_are_by_lane_in_order(make_profile: Callable[..., Profile]) -> None:
    x = np.arange(10.0)
    order = [(1, 1), (2, 1), (2, -1), (1, -1), (1, 1), (3, 1)]
    profiles = [make_profile(x, x, direction, lane) for lane, direction in order]
    pairs = pairs_both_ways(profiles)
    assert [(a.lane, a.direction, b.direction) for a, b in pairs] == [(1, 1, -1), (2, 1, -1)]
