"""Lag and backlash from passes both ways at two speeds over a neck, joint and pair by pair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from calibration.correct import correct, pairs_both_ways, self_lag
from calibration.lag.fit import fit_lag
from calibration.lag.lag import Lag
from calibration.lag.shift import LagError, match_shift
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


def many(make_pass: MakePass, surface: Any, speeds: tuple[float, ...], seed: int) -> list[RawPass]:
    return [
        one
        for k, speed in enumerate(speeds)
        for one in both_ways(make_pass, surface, speed, 10 * seed + k, quantum_mm=0.001)
    ]


def test_lag_and_backlash_are_recovered(make_pass: MakePass, neck_surface: Any) -> None:
    for seed in range(3):
        lag = fit_lag(many(make_pass, neck_surface, (12.0, 30.0), seed), 0.005, 0.001).lag
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
    assert 0.5 < np.sqrt(np.mean((off / found[:, 1]) ** 2)) < 1.6
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
def test_one_speed_is_not_enough(
    make_pass: MakePass, neck_surface: Any, speeds: tuple[float, ...]
) -> None:
    with pytest.raises(LagError, match=r"two speeds, a fifth apart or more; .* 25\.0"):
        fit_lag(many(make_pass, neck_surface, speeds, 1), 0.005, 0.001)


def test_nothing_at_all_is_not_enough() -> None:
    with pytest.raises(LagError, match="both ways"):
        fit_lag([], 0.005, 0.001)


def test_a_speed_of_its_own_each_way_is_not_enough(make_pass: MakePass, neck_surface: Any) -> None:
    """Forward at one speed and back at another: lag and backlash are one sum."""
    slow, fast = many(make_pass, neck_surface, (12.0, 30.0), 1)[::3]
    with pytest.raises(LagError, match="two speeds"):
        fit_lag([slow, fast], 0.005, 0.001)


def test_passes_one_way_are_not_enough(make_pass: MakePass, neck_surface: Any) -> None:
    with pytest.raises(LagError, match="both ways"):
        fit_lag(many(make_pass, neck_surface, (12.0, 30.0), 1)[::2], 0.005, 0.001)


def test_passes_apart_are_not_enough(make_pass: MakePass, neck_surface: Any) -> None:
    raw = many(make_pass, neck_surface, (12.0, 30.0), 1)
    early, late = raw[:3], replace(raw[3], x_mm=raw[3].x_mm + 600.0)
    with pytest.raises(LagError, match="less than 20 mm"):
        fit_lag([*early, late], 0.005, 0.001)


def test_a_pass_without_readings_is_named(make_pass: MakePass, neck_surface: Any) -> None:
    raw = many(make_pass, neck_surface, (12.0, 30.0), 1)
    raw[2] = replace(raw[2], z_mm=np.full_like(raw[2].z_mm, np.nan))
    with pytest.raises(LagError, match="no valid reading"):
        fit_lag(raw, 0.005, 0.001)


def test_nothing_with_a_shape_is_refused(make_pass: MakePass) -> None:
    raw = many(make_pass, lambda x: 1e-4 * x, (12.0, 30.0), 1)
    with pytest.raises(LagError, match="too even"):
        fit_lag(raw, 0.005, 0.001)


def test_an_odd_crown_and_a_string_do_not_decide(make_pass: MakePass, neck_surface: Any) -> None:
    """A crown that shifts by 0.2 mm with the way, and a string that trembles over 40 mm."""
    raw = many(make_pass, neck_surface, (12.0, 30.0), 4)
    rng = np.random.default_rng(5)
    spoilt = []
    for one in raw:
        moved = make_pass(neck_surface, direction=one.direction, speed=one.speed_mm_s,
                          rate_hz=16.0 * one.speed_mm_s, lag_s=LAG_S,
                          backlash_mm=BACKLASH_MM + 0.2)  # fmt: skip
        odd = (one.x_mm > 125.0) & (one.x_mm < 150.0)
        string = (one.x_mm > 300.0) & (one.x_mm < 340.0)
        z = np.where(odd, moved.z_mm, one.z_mm)
        spoilt.append(replace(one, z_mm=z + string * rng.normal(0.0, 0.05, z.size)))
    clean, lag = (fit_lag(passes, 0.005, 0.001).lag for passes in (raw, spoilt))
    assert lag.lag_s == pytest.approx(LAG_S, abs=0.05e-3)
    assert lag.backlash_mm == pytest.approx(clean.backlash_mm, abs=0.001)


def test_passes_that_do_not_repeat_cost_certainty(make_pass: MakePass, neck_surface: Any) -> None:
    raw = many(make_pass, neck_surface, (12.0, 12.0, 30.0, 30.0), 6)
    rng = np.random.default_rng(7)
    loose = [replace(one, x_mm=one.x_mm + rng.normal(0.0, 0.005)) for one in raw]
    calm, wild = (fit_lag(passes, 0.005, 0.001) for passes in (raw, loose))
    assert wild.lag.u_backlash_mm > 5.0 * calm.lag.u_backlash_mm
    assert abs(wild.lag.backlash_mm - BACKLASH_MM) < 3.0 * wild.lag.u_backlash_mm
    assert wild.apart_um > 1.0 > calm.apart_um


def test_uncertainty_at_a_speed_knows_that_the_errors_cancel() -> None:
    lag = Lag(LAG_S, 1e-5, BACKLASH_MM, 4e-4, correlation=-1.0)
    assert lag.u_contact_mm(20.0) == pytest.approx(0.0, abs=1e-12)
    assert replace(lag, correlation=1.0).u_contact_mm(20.0) == pytest.approx(4e-4)


def test_backlash_that_varies_is_undone() -> None:
    lag = Lag(0.0, 0.0, 0.04, 0.0, 1e-4, 1e-5, 300.0)
    t, x = np.arange(3.0), np.array([100.0, 300.0, 500.0])
    np.testing.assert_allclose(lag.contact_x_mm(t, x, 1), x - np.array([0.01, 0.02, 0.03]))
    np.testing.assert_allclose(lag.contact_x_mm(t, x, -1), x + np.array([0.01, 0.02, 0.03]))


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
