"""How near the tops come to the Cramér-Rao bound, and whether their uncertainties are honest.

The bound is that of one crown by itself: its passes' places and heights, one curvature, and one
flat where it has one, noise known; the inverse Fisher matrix of the shape, computed here from
numerical differences of a shape written here. Crowns of a scan say something of one another, so
that a scan of crowns all alike may lie under it; the last test has no two alike in reach.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from analysis.crowns.fit import fit_crowns
from analysis.crowns.windows import Windows

#: The reference case of FIGURES: 24 crowns, six lanes, both ways.
FRETS, LANES, HALF_MM, RADIUS_MM = 24, 6, 0.8, 1.2
CROWNS = FRETS * LANES


@dataclass(frozen=True)
class How:
    ball_mm: float
    step_mm: float
    noise_mm: float


POINT, BALL, REAL = How(0.0, 0.02, 0.002), How(1.0, 0.02, 0.002), How(1.0, 0.055, 0.001)
HOWS = pytest.mark.parametrize("how", [POINT, BALL, REAL], ids=["point", "ball", "real"])
FLATS = (0.1, 0.15, 0.2, 0.3, 0.45, 0.6)


def shape(v: np.ndarray, flat: float, curvature: float, ball: float) -> np.ndarray:
    """Highest of all balls set on the points of a circle cut off by a flat, less the top."""
    outer, half = 1.0 / curvature, flat / 2.0
    radius, a = outer - ball, np.abs(v)
    ring = np.sqrt(outer**2 - a**2) - ball - np.sqrt(radius**2 - half**2)
    past = np.clip(a - half, 0.0, None)
    corner = np.sqrt(np.clip(ball**2 - past**2, 0.0, None)) - ball
    return np.where(a < half * outer / radius, corner, ring)


def bound_mm(flat: float, how: How) -> float:
    """Best standard deviation of the mean of both passes' tops, mean over where samples fall."""
    bend, d = 1.0 / (RADIUS_MM + how.ball_mm), 1e-6
    variance = []
    for phase in np.linspace(0.0, 1.0, 8, endpoint=False):
        x = np.arange(-HALF_MM + phase * how.step_mm, HALF_MM, how.step_mm)
        rows = [
            (shape(x + d, flat, bend, how.ball_mm) - shape(x - d, flat, bend, how.ball_mm)),
            np.full(x.size, 2 * d),
            (shape(x, flat, bend + d, how.ball_mm) - shape(x, flat, bend - d, how.ball_mm)),
        ]
        if flat:
            rows.append(
                shape(x, flat + d, bend, how.ball_mm) - shape(x, flat - d, bend, how.ball_mm)
            )
        one = np.array(rows) / (2 * d)
        told = one @ one.T / how.noise_mm**2
        # the second pass has its own place and height, in rows of their own
        n = told.shape[0]
        both = np.zeros((n + 2, n + 2))
        for own in ([0, 1], [n, n + 1]):
            at = np.ix_(own + list(range(2, n)), own + list(range(2, n)))
            both[at] += told
        mean = np.zeros(n + 2)
        mean[[1, n + 1]] = 0.5
        variance.append(mean @ np.linalg.inv(both) @ mean)
    return float(np.sqrt(np.mean(variance)))


def tops_mm(flat: np.ndarray, how: How, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """(error, u) of every crown's top, the mean of both passes, [crowns]; flat: [crowns]."""
    rng = np.random.default_rng(seed)
    count = int(2 * HALF_MM / how.step_mm)
    middle = rng.normal(0.0, 0.01, 2 * CROWNS)
    start = middle + rng.normal(0.0, 0.02, 2 * CROWNS)
    x = start[:, None] - HALF_MM + how.step_mm * (np.arange(count) + rng.uniform(size=(288, 1)))
    bend = 1.0 / (RADIUS_MM + how.ball_mm)
    both = zip(x, middle, np.tile(flat, 2), strict=True)
    z = np.array([shape(row - m, float(f), bend, how.ball_mm) for row, m, f in both])
    z = z + rng.normal(0.0, how.noise_mm, z.shape)
    windows = Windows(
        x, z, np.ones(z.shape, dtype=bool), np.full(2 * CROWNS, how.noise_mm), start,
        np.sort(z, axis=1)[:, -3],
    )  # fmt: skip
    crown = np.tile(np.arange(CROWNS), 2)
    found = fit_crowns(
        windows,
        how.ball_mm,
        crown.tolist(),
        (crown % FRETS).tolist(),
        (1.0 + crown // FRETS).tolist(),
    )
    noise = found.u_noise_mm.reshape(2, CROWNS)
    u = np.sqrt(np.sum(noise**2, axis=0) / 4.0 + found.u_shape_mm[:CROWNS] ** 2)
    return found.z_mm.reshape(2, CROWNS).mean(axis=0), u


def of_scans(flat: float, how: How, scans: int) -> tuple[float, float, float]:
    """(bias in um, variance over bound, share within 2 u), every crown with the same flat."""
    made = [tops_mm(np.full(CROWNS, flat), how, 100 + k) for k in range(scans)]
    off, u = (np.concatenate(part) for part in zip(*made, strict=True))
    ratio = float(np.mean((off - off.mean()) ** 2)) / bound_mm(flat, how) ** 2
    return 1e3 * float(off.mean()), ratio, float(np.mean(np.abs(off) < 2.0 * u))


def check(flat: float, how: How, scans: int) -> str:
    bias, ratio, covered = of_scans(flat, how, scans)
    # a variance from n crowns is known to sqrt(2 / n), a mean to sqrt(variance / n)
    chance = 3.0 * np.sqrt(2.0 / (scans * CROWNS))
    known = 3e3 * bound_mm(flat, how) / np.sqrt(scans * CROWNS)
    assert ratio < (1.25 if flat else 1.05) + chance
    assert abs(bias) < (0.5 if flat else 0.05) + known
    assert covered > 0.92
    return (
        f"flat {flat}: bias {bias:.3f} um, variance {ratio:.2f} of the bound, {covered:.3f} in 2 u"
    )


def test_bound_of_a_round_crown_against_figures() -> None:
    """FIGURES: a circle of free radius, 0.317 um at an efficiency of 0.98; two passes here."""
    assert 1e3 * np.sqrt(2.0) * bound_mm(0.0, POINT) == pytest.approx(0.317 * 0.99, rel=0.01)


@HOWS
@pytest.mark.parametrize("flat", [0.0, 0.15, 0.45])
def test_tops_near_the_bound(how: How, flat: float) -> None:
    check(flat, how, 2)


@HOWS
def test_no_flat_like_another(how: How) -> None:
    """Half the crowns whole, half with flats of every width: all in all they are covered.

    A flat under 0.2 mm is rare in such a scan and often looks whole: it is shrunk towards that,
    and is covered less often than the rest, measured 82 to 86 %.
    """
    off, u, flats = [], [], []
    for k in range(3):
        rng = np.random.default_rng(k)
        flat = np.where(rng.uniform(size=CROWNS) < 0.5, 0.0, rng.uniform(0.05, 0.65, CROWNS))
        one = tops_mm(flat, how, 200 + k)
        off.append(one[0])
        u.append(one[1])
        flats.append(flat)
    within = np.abs(np.concatenate(off)) < 2.0 * np.concatenate(u)
    small = (np.concatenate(flats) > 0.0) & (np.concatenate(flats) < 0.2)
    assert 0.92 < np.mean(within) < 0.985
    assert np.mean(within[small]) > 0.8


@pytest.mark.campaign
@HOWS
def test_every_flat(how: How, capsys: pytest.CaptureFixture[str]) -> None:
    words = [check(flat, how, 12) for flat in (0.0, *FLATS)]
    with capsys.disabled():
        print("\n" + "\n".join(words))  # noqa: T201
