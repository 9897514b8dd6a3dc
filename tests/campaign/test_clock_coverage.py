"""Two devices' clocks on late arrivals, many sessions: error of the places, and the stated u."""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
import pytest
from numpy.random import Generator

from calibration.clocks.stamped import Stamped
from calibration.clocks.two import place_samples

RUNS = {1: 1000, 5: 400, 30: 300}
PASS_S, EVERY_S, SPEED_MM_S = 25.0, 28.0, 25.0
WRAP = 2**32


def alone(host: np.ndarray, rng: Generator) -> np.ndarray:
    return host + rng.exponential(5e-3, host.size)


def in_order(host: np.ndarray, rng: Generator) -> np.ndarray:
    return np.asarray(np.maximum.accumulate(alone(host, rng)))


def in_bursts(host: np.ndarray, rng: Generator) -> np.ndarray:
    looks = host[0] + np.cumsum(rng.exponential(5e-3, int(1.3 * np.ptp(host) / 5e-3) + 99))
    return np.asarray(looks[np.searchsorted(looks, host)])


def stamped(host: np.ndarray, delay: Callable[..., np.ndarray], rng: Generator) -> Stamped:
    rate = 1.0 + 1e-6 * rng.uniform(-50.0, 50.0)
    ticks = rng.integers(0, WRAP) + np.rint(1e6 * rate * host).astype(np.int64)
    late = np.rint(1e9 * delay(host, rng)).astype(np.int64)
    return Stamped((ticks % WRAP).astype(np.uint32), late)


@pytest.mark.campaign
@pytest.mark.parametrize("minutes", [1, 5, 30])
@pytest.mark.parametrize("delay", [alone, in_order, in_bursts])
def test_coverage(delay: Callable[..., np.ndarray], minutes: int) -> None:
    """Shift at one moment of each session, in micrometres of travel at 25 mm/s."""
    passes = int(60 * minutes / EVERY_S)
    # half an hour at 400 Hz would take an hour to run
    one = np.arange(0.0, PASS_S, 1.0 / (400.0 if minutes < 10 else 100.0))
    host = np.concatenate([EVERY_S * n + one for n in range(passes)])
    hits, off_um, u_um = [], [], []
    for run in range(RUNS[minutes]):
        rng = np.random.default_rng([run, minutes])
        placed, clocks = place_samples(
            stamped(host + 0.0011, delay, rng), stamped(host, delay, rng)
        )
        # a moment anywhere in the session; single readings are rounded to microseconds besides
        moment = int(rng.integers(host.size - 100)) + np.arange(100)
        error_s = float(np.mean((placed.at(host) - host - 0.0011)[moment][placed.ok[moment]]))
        hits.append(abs(error_s) < 1.96 * clocks.u_s)
        off_um.append(1e3 * SPEED_MM_S * error_s)
        u_um.append(clocks.travel_jitter_um(SPEED_MM_S))
    rms = float(np.sqrt(np.mean(np.square(off_um))))
    found = (
        f"{delay.__name__}, {minutes} min: rms {rms:.3f} um, u {np.mean(u_um):.3f} um, "
        f"mean {np.mean(off_um):+.3f} um, covered {np.mean(hits):.3f}\n"
    )
    sys.stdout.write(found)
    assert 0.93 <= np.mean(hits) <= 0.97
    assert rms < 1.0
