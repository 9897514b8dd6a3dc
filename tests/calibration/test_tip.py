"""The ball's radius from traces over a pin or an edge, made of geometry alone."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.passes import Pad, RawPass
from calibration.probe.cap import ProbeError, cut_caps
from calibration.probe.tip import Scales, TipFound, fit_tip
from calibration.probe.trace import Touched, worn_trace

PADS = (Pad(4.0, 16.0), Pad(600.0, 614.0))
COUNT_MM = (0.005, 0.001)
SPEED, RATE_HZ = 11.7, 400.0
NONE = Scales(0.0, 0.0)
Make = Callable[..., list[RawPass]]


def ridden(x: np.ndarray, ball: float, pin: float, at: float) -> np.ndarray:
    """Highest of all balls set on the points of a pin (or a peak, pin 0) that lies on a flat."""
    outer = ball + pin
    high = 2.0 * pin if pin else 2.0
    with np.errstate(invalid="ignore"):
        over = np.sqrt(outer**2 - (x - at) ** 2) - outer + high
    return np.where(np.abs(x - at) < 0.97 * outer, np.maximum(over, 0.0), 0.0)


def falling(z: np.ndarray, most_mm: float) -> np.ndarray:
    """No reading is lower than the one before by more than this."""
    out = z.copy()
    for i in range(1, out.size):
        out[i] = max(out[i], out[i - 1] - most_mm)
    return out


def slack(z: np.ndarray, play: float) -> np.ndarray:
    """The play operator."""
    out, stands = np.empty_like(z), float(z[0])
    for i, each in enumerate(z.tolist()):
        stands = min(max(stands, each - 0.5 * play), each + 0.5 * play)
        out[i] = stands
    return out


def over_a_pin(
    seed: int,
    ball: float = 1.0,
    pin: float = 1.5,
    noise: float = 0.002,
    trace: Callable[[np.ndarray, float], np.ndarray] | None = None,
    fall_mm_s: float = 0.0,
    play: float = 0.0,
    spikes: bool = True,
    stretch: float = 1.0,
) -> list[RawPass]:
    """Three passes each way, laid off one another by lag and backlash, in whole counts."""
    rng, step, out = np.random.default_rng(seed), SPEED / RATE_HZ, []
    for number in range(6):
        way = 1 if number % 2 == 0 else -1
        x = np.arange(270.0, 330.0, step) + rng.uniform() * step
        at = 300.0 + 0.05 * way
        z = ridden(stretch * (x - at), ball, pin, 0.0) if trace is None else trace(x, at)
        if fall_mm_s:
            z = falling(z[::way], fall_mm_s / RATE_HZ)[::way]
        if play:
            z = slack(z[::way], play)[::way]
        z = z + rng.normal(0.0, noise, x.size)
        hit = (rng.random(x.size) < 1 / 2500) & spikes
        z[hit] += rng.uniform(0.05, 0.5, np.count_nonzero(hit))
        x, z = (q * np.round(a / q) for a, q in zip((x, z), COUNT_MM, strict=True))
        t = np.arange(x.size) / RATE_HZ
        out.append(
            RawPass(number // 2 + 1, np.nan, way, SPEED, t, x[::way], np.zeros_like(x), z[::way])
        )
    return out


def found(
    pin: float = 1.5, nominal: float = 1.0, scales: Scales = NONE, u_mm: float = 0.0, **how: Any
) -> TipFound:
    passes = over_a_pin(pin=pin, **{"seed": 1, **how})
    caps = cut_caps(passes, PADS, COUNT_MM, 1.3 * (pin + nominal))
    return fit_tip(caps, Touched(pin, u_mm), nominal, scales)


@pytest.mark.parametrize(("ball", "pin"), [(1.0, 1.5), (0.9, 1.5), (2.0, 2.5), (1.0, 0.0)])
def test_the_ball_comes_out(ball: float, pin: float) -> None:
    tip = found(pin, ball=ball)
    assert tip.radius_mm == pytest.approx(ball, abs=4.0 * tip.u_mm)
    assert tip.u_mm < 0.002
    assert tip.flat_mm == 0.0
    assert tip.passes == 6


@settings(deadline=None, max_examples=4)
@given(st.floats(0.5, 3.0), st.floats(0.5, 4.0))
def test_what_is_drawn_without_noise_comes_back(ball: float, pin: float) -> None:
    tip = found(pin, ball, ball=ball, noise=1e-5, spikes=False)
    assert tip.radius_mm == pytest.approx(ball, abs=1.5e-3)


def test_taken_off_its_trace_the_ball_leaves_the_pin() -> None:
    """Erosion knows nothing of the fit: with the right ball the round of the pin is left."""
    assert found().left_um < 2.0
    assert np.isnan(found(0.0).left_um)


def test_scales_and_the_pin_are_in_the_uncertainty() -> None:
    plain = found()
    assert found(scales=Scales(0.001, 0.0)).u_mm == pytest.approx(
        np.hypot(plain.u_mm, 0.005), rel=1e-3
    )
    assert found(scales=Scales(0.0, 0.002)).u_mm == pytest.approx(
        np.hypot(plain.u_mm, 0.005), rel=1e-3
    )
    assert found(u_mm=0.004).u_mm == pytest.approx(np.hypot(plain.u_mm, 0.004), rel=1e-3)
    stretched = found(stretch=1.002).radius_mm - plain.radius_mm
    # drawn 0.2 % narrower: the circle of 2.5 looks 0.4 % smaller
    assert stretched == pytest.approx(-2.0 * 2.5 * 0.002, rel=0.2)


def test_play_of_a_few_micrometres_does_not_count() -> None:
    tip = found(play=0.003)
    assert tip.radius_mm == pytest.approx(1.0, abs=0.004)
    assert tip.flat_mm == 0.0


@pytest.mark.parametrize("pin", [1.5, 0.0])
def test_a_worn_tip_is_seen(pin: float) -> None:
    """Traced by hand: every point of the flat ball touches every point of the round."""

    def trace(x: np.ndarray, at: float) -> np.ndarray:
        v = x - at
        touch = np.linspace(-1.0, 1.0, 4001)
        below = np.maximum(1.0 - np.sqrt(1.0 - touch**2), 1.0 - np.sqrt(1.0 - 0.2**2))
        below = below - below.min()
        across = v[:, None] + touch[None, :]
        reach = max(pin, 1e-9)
        with np.errstate(invalid="ignore"):
            top = np.where(np.abs(across) <= reach, np.sqrt(reach**2 - across**2) - reach, -9.0)
        if not pin:
            return 2.0 + np.interp(v, touch, -below, left=-2.0, right=-2.0)
        return 2.0 * pin + np.max(np.where(top > -9.0, top, -3.0) - below[None, :], axis=1)

    tip = found(pin, trace=trace)
    assert tip.flat_mm == pytest.approx(0.4, abs=0.05)
    assert tip.radius_mm == pytest.approx(1.0, abs=0.01)


def test_the_worn_trace_without_a_flat_is_a_circle() -> None:
    u = np.linspace(-1.5, 1.5, 301)
    np.testing.assert_allclose(
        worn_trace(u, 1.0, 0.0, 1.5), np.sqrt(2.5**2 - u**2) - 2.5, atol=1e-14
    )


def bump(x: np.ndarray, at: float) -> np.ndarray:
    """A chip beside a pin, on one side whichever way it is passed."""
    return ridden(x, 1.0, 1.5, at) + 0.03 * np.exp(-(((x - at - 1.1) / 0.15) ** 2))


def steps(x: np.ndarray, at: float) -> np.ndarray:
    """A plunger that sticks and jumps."""
    return 0.04 * np.round(ridden(x, 1.0, 1.5, at) / 0.04)


@pytest.mark.parametrize(
    ("how", "says"),
    [
        (
            {"fall_mm_s": 5.0},
            r"left the surface after the crest: .* too high, by \d+ µm going towards the nut and "
            r"\d+ µm going away from the nut",
        ),
        ({"fall_mm_s": 2.0}, "left the surface after the crest"),
        ({"trace": bump}, r"no circle: it lies up to \d+ µm off the best one: is it a pin of 3 mm"),
        ({"trace": steps}, r"no circle: it lies up to \d+ µm off"),
        (
            {
                "trace": lambda x, at: np.maximum(
                    ridden(x, 1.0, 1.5, at), ridden(x, 1.0, 1.5, 285.0)
                )
            },
            r"what stands out at x = \d+\.\d mm is not alone",
        ),
        ({"trace": lambda x, at: 2.0 + 1e-4 * (x - at)}, "nothing stands out between the pads"),
        ({"trace": lambda x, at: np.full_like(x, np.nan)}, "nothing was seen between the pads"),
    ],
)
def test_what_is_no_pin_or_no_ball_on_it_is_named(how: dict[str, Any], says: str) -> None:
    with pytest.raises(ProbeError, match=says):
        found(**how)


def coverage(runs: int, pin: float) -> tuple[float, float]:
    """(share of 95 % intervals that hold the truth, mean error in µm), with a pin and a carriage
    scale that are not what they are said to be."""
    rng = np.random.default_rng(5)
    held, off = [], []
    for seed in range(runs):
        along, wrong = rng.normal(0.0, 2e-4), rng.normal(0.0, 5e-4)
        passes = over_a_pin(seed, pin=pin, stretch=1.0 + along)
        told = pin + wrong if pin else 0.0
        caps = cut_caps(passes, PADS, COUNT_MM, 1.3 * (pin + 1.0))
        tip = fit_tip(caps, Touched(told, 5e-4 if pin else 0.0), 1.0, Scales(2e-4, 0.0))
        held.append(abs(tip.radius_mm - 1.0) <= 1.96 * tip.u_mm)
        off.append(1e3 * (tip.radius_mm - 1.0))
    return float(np.mean(held)), float(np.mean(off))


def test_intervals_hold_the_truth() -> None:
    held, off = coverage(6, 1.5)
    assert held > 0.6
    assert abs(off) < 2.0


@pytest.mark.campaign
@pytest.mark.parametrize("pin", [1.5, 0.0])
def test_intervals_hold_the_truth_long(pin: float, capsys: pytest.CaptureFixture[str]) -> None:
    held, off = coverage(400, pin)
    with capsys.disabled():
        sys.stdout.write(f"\npin {2 * pin:g} mm: coverage {held:.3f}, mean error {off:+.2f} µm\n")
    assert 0.93 <= held <= 0.97
    assert abs(off) < 0.5
