"""Straightness against the least-squares line (ISO 12780-1's LSLI), exact answers of CHECKS 5.1.

The beam's leftovers are those deviations, turned about: what a line leaves standing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from analysis.beam import beam_setting
from analysis.instrument import Instrument
from analysis.shape import Shape

DATA = Path(__file__).parent / "data" / "straightness_examples.csv"


@pytest.fixture(scope="module")
def off_line(walnut: Instrument, make_shape: Callable[..., Shape]) -> Callable[[str], np.ndarray]:
    """Deviations of example A (mm) or B (um) from its line, through a neck of nine frets."""

    def deviations(name: str) -> np.ndarray:
        lines = [r.split(",") for r in DATA.read_text().splitlines()[2:]]
        x, z = np.array([[float(r[1]), float(r[2])] for r in lines if r[0] == name]).T
        nine = replace(walnut, frets=9, body_joint_fret=8)
        columns = np.ones(len(nine.strings))
        shape = replace(
            make_shape(nine),
            x_mm=np.outer(x, columns),
            top_mm=1e-3 * np.outer(z, columns),
        )
        setting = beam_setting(shape, np.zeros((9, columns.size)), nine, 0.0)
        assert setting.relief_change_mm == 0.0
        return -setting.left_um[:, 0]

    return deviations


def test_b_nine_points(off_line: Callable[[str], np.ndarray]) -> None:
    exact = ("-3", "-5/12", "7/6", "-1/4", "4/3", "47/12", "5/2", "-11/12", "-13/3")
    found = off_line("B")
    np.testing.assert_allclose(found, [float(Fraction(e)) for e in exact], atol=1e-9)
    assert np.ptp(found) == pytest.approx(33 / 4, abs=1e-9)  # STRt
    assert np.sqrt(np.mean(found**2)) == pytest.approx(2.440021251, abs=1e-9)  # STRq


def test_a_cubic(off_line: Callable[[str], np.ndarray]) -> None:
    found = off_line("A")
    assert np.ptp(found) == pytest.approx(21 / 40, abs=1e-9)
    assert np.sqrt(np.mean(found**2)) == pytest.approx(np.sqrt(99 / 2560), abs=1e-9)
