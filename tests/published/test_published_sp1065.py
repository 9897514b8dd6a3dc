"""NIST Special Publication 1065 (Riley 2008), frequency-stability test sets: OADEV and OHDEV.

Tolerance: one unit of the last printed digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from calibration.drift.still import allan_deviation, hadamard_deviation

#: NBS Monograph 140, annex 8.E, as SP 1065 quotes it
NINE_POINTS = (892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0)


def thousand_points() -> np.ndarray:
    """SP 1065, 12.4: n(i + 1) = 16807 n(i) mod 2147483647, from 1234567890."""
    n = [1234567890]
    while len(n) < 1000:
        n.append(16807 * n[-1] % 2147483647)
    assert n[1:4] == [395529916, 1209410747, 633705974]
    assert n[-1] == 1560135652
    return np.array(n) / 2147483647


@pytest.mark.parametrize(("m", "oadev"), [(1, 91.22945), (2, 85.95287)])
def test_nine_points(m: int, oadev: float) -> None:
    found = allan_deviation(np.array(NINE_POINTS), np.array([m]))
    assert found[0] == pytest.approx(oadev, abs=1e-5)


@pytest.mark.parametrize(
    ("m", "oadev", "digit"),
    [(1, 2.922319e-1, 1e-7), (10, 9.159953e-2, 1e-8), (100, 3.241343e-2, 1e-8)],
)
def test_thousand_points(m: int, oadev: float, digit: float) -> None:
    found = allan_deviation(thousand_points(), np.array([m]))
    assert found[0] == pytest.approx(oadev, abs=digit)


@pytest.mark.parametrize(("m", "ohdev"), [(1, 70.80607), (2, 85.61487)])
def test_nine_points_hadamard(m: int, ohdev: float) -> None:
    found = hadamard_deviation(np.array(NINE_POINTS), np.array([m]))
    assert found[0] == pytest.approx(ohdev, abs=1e-5)


@pytest.mark.parametrize(
    ("m", "ohdev", "digit"),
    [(1, 2.943883e-1, 1e-7), (10, 9.581083e-2, 1e-8), (100, 3.237638e-2, 1e-8)],
)
def test_thousand_points_hadamard(m: int, ohdev: float, digit: float) -> None:
    found = hadamard_deviation(thousand_points(), np.array([m]))
    assert found[0] == pytest.approx(ohdev, abs=digit)
