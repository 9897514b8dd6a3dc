"""Envelope of the ideal plucked string (d'Alembert): closed form, own derivation in CHECKS 8.2.

L = 650 mm, released from +3 mm at 520 mm from the nut; and the clearance example of 8.3.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analysis.strings.envelope import envelope_mm

DATA = Path(__file__).parent / "data"
LENGTH = np.array(650.0)


def swing(x_mm: np.ndarray, height_mm: float = 1.0) -> np.ndarray:
    return envelope_mm(np.array(height_mm), x_mm, LENGTH, 130.0)


def test_deepest_swing_of_every_point() -> None:
    x, _, lowest = np.loadtxt(DATA / "plucked_string_envelope.csv", delimiter=",", skiprows=3).T
    np.testing.assert_allclose(swing(x, 3.0), -lowest, atol=1e-11)


def test_deepest_at_the_mirror_of_the_pluck() -> None:
    x = np.linspace(0.0, 650.0, 651)
    assert x[np.argmax(swing(x))] == 130.0


@pytest.mark.parametrize("share", [0.2, 0.35, 0.5])
def test_no_moment_of_the_fourier_series_goes_deeper(share: float) -> None:
    """u = sum of 2 h L^2 / (n^2 pi^2 p (L - p)) sin sin cos, over half a period."""
    n = np.arange(1, 2001)
    p = 650.0 * (1.0 - share)
    x = np.linspace(0.0, 650.0, 66)
    size = 2.0 * 650.0**2 / (n**2 * np.pi**2 * p * (650.0 - p)) * np.sin(n * np.pi * p / 650.0)
    modes = size * np.sin(np.outer(x, n) * np.pi / 650.0)
    moments = np.cos(np.outer(n, np.linspace(0.0, np.pi, 201)))
    lowest = (modes @ moments).min(axis=1)
    closed = envelope_mm(np.array(1.0), x, LENGTH, 650.0 * share)
    # the series is O(1/N) off at the corner
    np.testing.assert_allclose(-lowest, closed, atol=1e-3)


def test_largest_pull_without_contact() -> None:
    table = np.loadtxt(DATA / "clearance_example.csv", delimiter=",", skiprows=2)
    _, x, clearance, d, height = table.T
    np.testing.assert_allclose(swing(x), d, atol=1e-8)
    found = clearance / swing(x)
    np.testing.assert_allclose(found, height, atol=1.5e-6)
    assert np.argmin(found) + 1 == 4
    assert found.min() == pytest.approx(0.819048, abs=5e-7)
