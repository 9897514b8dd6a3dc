"""Straightedge reversal: Evans, Hocken, Estler, CIRP Annals 45(2) (1996) 617-634 (citation from
memory); the constructed example of CHECKS 5.2, in whole micrometres at nine places.

I1 = R + S, I2 = R - S. Both the plain example and the one with set-up lines added.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from calibration.profile import Profile
from calibration.rail.reversal import Reversal, fit_reversal

DATA = Path(__file__).parent / "data" / "reversal_example.csv"
X, R, S, I1, I2, I1T, I2T = np.loadtxt(DATA, delimiter=",", skiprows=2).T
MakeProfile = Callable[..., Profile]


def scanned(make: MakeProfile, um: np.ndarray, noise_mm: float = 0.0, seed: int = 0) -> Profile:
    """The nine readings, straight between them, as a scan of the whole length."""
    x = np.arange(-3.0, 403.0, 0.0625)
    noise = np.random.default_rng(seed).normal(0.0, noise_mm, x.size) if noise_mm else 0.0
    return make(x, 1e-3 * np.interp(x, X, um) + noise)


def level(x: np.ndarray, values: np.ndarray) -> np.ndarray:
    return values - np.polyval(np.polyfit(x, values, 1), x)


@pytest.mark.parametrize(("first", "second"), [(I1, I2), (I1T, I2T)])
def test_rail_and_straightedge_separate(
    first: np.ndarray, second: np.ndarray, make_profile: MakeProfile
) -> None:
    found = fit_reversal(
        [scanned(make_profile, first)], [scanned(make_profile, second)], (), "over", 2.0
    )
    x = found.edge_x_mm
    for mine, truth in ((found.rail.r_mm, R), (found.edge_mm, S)):
        # a cell's mean is not its middle where the broken line has a corner: 0.01 um
        np.testing.assert_allclose(1e3 * mine, level(x, np.interp(x, X, truth)), atol=0.02)


def test_sagitta_is_not_lost(make_profile: MakeProfile) -> None:
    """Reversal separates the second-order term too."""
    bow = ((X - 200.0) / 200.0) ** 2
    found = fit_reversal(
        [scanned(make_profile, R + 5.0 * bow + S)],
        [scanned(make_profile, R + 5.0 * bow - S)],
        (),
        "over",
        2.0,
    )
    x = found.edge_x_mm
    np.testing.assert_allclose(
        1e3 * found.rail.r_mm, level(x, np.interp(x, X, R + 5.0 * bow)), atol=0.02
    )


def test_uncertainty_is_that_of_one_scan_by_root_two(make_profile: MakeProfile) -> None:
    """u(R) = u(I) / sqrt 2 (Monte Carlo in the source 0.7047)."""

    def fitted(seed: int) -> Reversal:
        one, two = (scanned(make_profile, z, 0.002, 2 * seed + k) for k, z in enumerate((I1, I2)))
        return fit_reversal([one], [two], (), "over", 2.0)

    found = [fitted(seed) for seed in range(12)]
    u_cell = 0.002 / np.sqrt(8.0)
    assert np.median(found[0].rail.u_seen_mm) == pytest.approx(u_cell / np.sqrt(2.0), rel=0.1)
    spread = np.std([one.rail.r_mm[50:750] for one in found], axis=0, ddof=1)
    # 12 scans of 700 cells: 0.8 %
    assert np.sqrt(np.mean(spread**2)) / u_cell == pytest.approx(0.7071, rel=0.03)
