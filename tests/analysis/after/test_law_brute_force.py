"""The law against its posterior summed over a grid of offset and gain: whole covariances, no
algebra. Every scatter, day and nearness to nothing is believed as the law's module says."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from analysis.after.law import (
    DAY_GAIN,
    DAY_GAINS,
    NOTHING_UM,
    SCATTERS_UM,
    SHARED_UM,
    Session,
    fit_law,
)


def _stretch(values: tuple[float, ...]) -> list[float]:
    v = list(values)
    ends = [v[0], *((a + b) / 2.0 for a, b in pairwise(v)), v[-1]]
    return [b - a for a, b in pairwise(ends)]


def _by_grid(sessions: list[Session], gain0: float, u_gain0: float) -> tuple[float, ...]:
    """Mean and standard deviation of gain, then of offset."""
    x = np.concatenate([s.planned_um for s in sessions])
    y = np.concatenate([s.achieved_um for s in sessions])
    u = np.concatenate([s.u_achieved_um for s in sessions])
    whose = np.repeat(np.arange(len(sessions)), [s.planned_um.size for s in sessions])
    same = (whose[:, None] == whose[None, :]).astype(float)
    offset, gain = np.meshgrid(np.linspace(-5, 5, 161), np.linspace(0.3, 1.6, 261))
    off = y - offset[..., None] - gain[..., None] * x
    total = np.zeros_like(offset)
    for scatter, ds in zip(SCATTERS_UM, _stretch(SCATTERS_UM), strict=True):
        for day, dd in zip(DAY_GAINS, _stretch(DAY_GAINS), strict=True):
            v = np.diag(u**2 + scatter**2) + same * (SHARED_UM**2 + day**2 * np.outer(x, x))
            w = np.linalg.inv(v)
            square = np.einsum("abi,ij,abj->ab", off, w, off)
            like = np.exp(-0.5 * square) / np.sqrt(np.linalg.det(v))
            before = ds * dd * np.exp(-0.5 * (day / DAY_GAIN) ** 2) / (1.0 + scatter**2)
            for nothing, share in NOTHING_UM:
                bell = np.exp(-0.5 * (offset / nothing) ** 2) / nothing
                total += before * share * bell * like
    total *= np.exp(-0.5 * ((gain - gain0) / u_gain0) ** 2)
    total /= total.sum()
    out = []
    for value in (gain, offset):
        mean = float(np.sum(total * value))
        out += [mean, float(np.sqrt(np.sum(total * (value - mean) ** 2)))]
    return tuple(out)


@pytest.mark.parametrize("count", [(4,), (3, 5), (2, 2, 3)])
def test_as_by_brute_force(count: tuple[int, ...]) -> None:
    rng = np.random.default_rng(len(count))
    sessions = []
    for n in count:
        x = rng.uniform(2.0, 25.0, n)
        y = 1.5 + 0.85 * x + rng.normal(0.0, 1.3, n)
        sessions.append(Session(x, y, np.zeros(n), np.full(n, 0.8)))
    law = fit_law(sessions, 0.95, 0.2)
    assert law.cuts == sum(count)
    gain, u_gain, offset, u_offset = _by_grid(sessions, 0.95, 0.2)
    assert law.gain == pytest.approx(gain, abs=2e-3)
    assert law.u_gain == pytest.approx(u_gain, rel=0.02)
    assert law.offset_um == pytest.approx(offset, abs=0.02)
    assert law.u_offset_um == pytest.approx(u_offset, rel=0.02)
