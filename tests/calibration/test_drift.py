"""How the sensor drifted, from the pads and from turns over the neck."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calibration.drift.drift import Drift, find_drift
from calibration.drift.pads import visit_pads
from calibration.passes import Pad, RawPass

MakePass = Callable[..., RawPass]
Array = np.ndarray
Curve = Callable[[Array], Array]
NOISE_MM = 1.5e-3
STEP_MM = 1e-3


def bumpy(x: Array) -> Array:
    """Steel at both ends, something like a board between."""
    inside = (x > 25.0) & (x < 590.0)
    return np.where(inside, 0.05 * np.sin(x / 90.0) + 0.01 * np.sin(x / 11.0), 0.1 * (x > 300.0))


def wandering(t: Array) -> Array:
    """20 um a minute, and two slow swings about it: the simulated rig's drift, its rate raised."""
    swing = 0.33 * np.sin(2.0 * np.pi * t / 410.0 + 1.0) + 0.2 * np.sin(2.0 * np.pi * t / 150.0)
    return 0.020 * (t / 60.0 + swing)


def session(
    make_pass: MakePass, drift: Curve, lanes: int = 6, speed: float = 25.0
) -> list[RawPass]:
    """There and back over each lane, half a second between passes."""
    takes_s = 614.0 / speed + 0.5
    return [
        make_pass(
            bumpy,
            direction=1 if k % 2 == 0 else -1,
            lane=1 + k // 2,
            speed=speed,
            start_s=takes_s * k,
            drift=drift,
            noise_mm=NOISE_MM,
            quantum_mm=STEP_MM,
            seed=k,
        )
        for k in range(2 * lanes)
    ]


def left_um(found: Drift, truth: Curve, passes: list[RawPass], pads: tuple[Pad, ...]) -> Array:
    """What is left of the drift at every instant, about the visits' mean; [passes, instants]."""
    t = visit_pads(passes, pads).t_s
    about = np.mean(truth(t[np.isfinite(t)]))
    return 1e3 * (found.drift_mm - truth(found.t_s) + about)


def rms(values: Array) -> float:
    return float(np.sqrt(np.mean(values**2)))


@pytest.mark.parametrize("slope", [4e-4, -4e-4])
def test_steady_drift_is_taken_off(
    make_pass: MakePass, pads: tuple[Pad, ...], slope: float
) -> None:
    passes = session(make_pass, lambda t: slope * t, lanes=4)
    found = find_drift(passes, pads, STEP_MM)
    assert rms(left_um(found, lambda t: slope * t, passes, pads)) < 0.15
    assert found.remarks == ()


@pytest.mark.parametrize(("speed", "most_um"), [(25.0, 0.15), (10.0, 0.6)])
def test_drift_that_is_not_linear_leaves_under_a_micrometre(
    make_pass: MakePass, pads: tuple[Pad, ...], speed: float, most_um: float
) -> None:
    passes = session(make_pass, wandering, speed=speed)
    found = find_drift(passes, pads, STEP_MM)
    left = left_um(found, wandering, passes, pads)
    assert rms(left) < most_um
    straight = [np.interp(t, t[[0, -1]], wandering(t[[0, -1]])) - wandering(t) for t in found.t_s]
    assert rms(left) < 0.7 * 1e3 * rms(np.array(straight))
    assert np.mean(np.abs(left) < 2.0 * 1e3 * found.u_mm) > 0.85


def test_the_turns_tell_what_the_pads_do_not(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    """The same passes with nothing between the pads to see twice."""
    passes = session(make_pass, wandering, lanes=4, speed=10.0)
    blind = [
        replace(p, z_mm=np.where((p.x_mm > 20.0) & (p.x_mm < 595.0), np.nan, p.z_mm))
        for p in passes
    ]
    seeing, unseeing = (find_drift(each, pads, STEP_MM) for each in (passes, blind))
    assert rms(left_um(seeing, wandering, passes, pads)) < 0.7 * rms(
        left_um(unseeing, wandering, passes, pads)
    )
    assert np.mean(seeing.u_mm) < np.mean(unseeing.u_mm)


def test_between_instants_and_pass_by_pass(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    passes = session(make_pass, wandering, lanes=3)
    found = find_drift(passes, pads, STEP_MM)
    t = passes[2].t_s
    np.testing.assert_allclose(found.at(2, found.t_s[2]), found.drift_mm[2])
    assert found.at(2, t).shape == t.shape
    middle = 0.5 * (found.t_s[2, 3] + found.t_s[2, 4])
    assert found.u_at(2, np.array([middle]))[0] == pytest.approx(np.mean(found.u_mm[2, 3:5]))
    assert found.u_mm[2].min() <= found.u_of(2) <= found.u_mm[2].max()


def test_visits_that_are_missing(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    """A third of the visits gone: the rest of the session bridges them, less surely."""
    passes = session(make_pass, wandering)
    holed = [
        replace(p, z_mm=np.where(p.x_mm > 595.0, np.nan, p.z_mm)) if k % 3 == 0 else p
        for k, p in enumerate(passes)
    ]
    whole, found = (find_drift(each, pads, STEP_MM) for each in (passes, holed))
    assert rms(left_um(found, wandering, holed, pads)) < 0.4
    assert found.u_of(3) > whole.u_of(3)


def test_one_pad_only(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    passes = session(make_pass, wandering)
    lame = [replace(p, z_mm=np.where(p.x_mm > 595.0, np.nan, p.z_mm)) for p in passes]
    found = find_drift(lame, pads, STEP_MM)
    left = left_um(found, wandering, lame, pads)
    assert rms(left) < 1.0
    assert np.mean(np.abs(left) < 2.0 * 1e3 * found.u_mm) > 0.9


def test_spikes_on_the_pads(make_pass: MakePass, pads: tuple[Pad, ...]) -> None:
    passes = session(make_pass, wandering)
    rng = np.random.default_rng(3)
    for one in passes:
        hit = ((one.x_mm < 17.0) | (one.x_mm > 599.0)) & (rng.random(one.x_mm.size) < 0.1)
        one.z_mm[hit] += rng.uniform(-0.5, 0.5, np.count_nonzero(hit))
    found = find_drift(passes, pads, STEP_MM)
    assert rms(left_um(found, wandering, passes, pads)) < 0.25


def test_pads_that_all_read_alike_hide_a_part_of_a_step(
    make_pass: MakePass, pads: tuple[Pad, ...]
) -> None:
    passes = [
        replace(p, z_mm=np.zeros_like(p.z_mm)) for p in session(make_pass, wandering, lanes=2)
    ]
    found = find_drift(passes, pads, STEP_MM)
    np.testing.assert_allclose(found.drift_mm, 0.0, atol=1e-12)
    assert 0.05e-3 < found.u_of(0) < 1e-3


@pytest.mark.parametrize("seen", [0, 1])
def test_too_little_seen_is_no_drift(make_pass: MakePass, pads: tuple[Pad, ...], seen: int) -> None:
    passes = session(make_pass, wandering, lanes=1)[:1]
    found = find_drift(passes, pads if seen else (), STEP_MM)
    assert np.all(found.at(0, passes[0].t_s) == 0.0)
    assert (found.u_of(0) > 0.0) == bool(seen)
