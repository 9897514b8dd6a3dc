"""Relief and the smooth line along a string against exact answers for a line through the end
points: CHECKS 5.1 (own constructions, exact rationals) and the sagittas of CHECKS 10 (40-digit
decimal arithmetic). Tolerance 1e-9.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analysis.form.line import CUBIC_PEAK, smooth_line
from analysis.neck.relief import reliefs

DATA = Path(__file__).parent / "data"
ROWS = [
    line.split(",") for line in (DATA / "straightness_examples.csv").read_text().splitlines()[2:]
]
A, B = (np.array([[float(r[1]), float(r[2])] for r in ROWS if r[0] == name]).T for name in "AB")


def depth(x: np.ndarray, z: np.ndarray) -> tuple[float, int]:
    """(relief, fret) of one string whose chord runs from the first point to the last."""
    (found,) = reliefs(x[:, None], z[:, None], np.zeros((x.size, 1)), x.size)
    return found.relief_mm, found.at_fret


def test_a_cubic_between_its_end_points() -> None:
    """z = x³ departs from its chord by 0.75 peak to valley on the nine points, and by
    2 · 2 / (3 sqrt 3) = 0.769800 where it is continuous: twice the S-shape's height."""
    x, z = A
    assert depth(x, z)[0] + depth(x, -z)[0] == pytest.approx(0.75, abs=1e-9)
    line = smooth_line(x, z, x.size)
    assert line is not None
    assert line.terms[3] == pytest.approx(-1.0, abs=1e-9)
    assert 2.0 * CUBIC_PEAK * abs(line.terms[3]) == pytest.approx(
        4.0 / (3.0 * np.sqrt(3.0)), abs=1e-9
    )
    np.testing.assert_allclose(line.value_mm, z, atol=1e-9)


def test_b_nine_points_under_the_chord() -> None:
    """7.75 from the line through the end points, at the sixth point."""
    x, z = B
    found, fret = depth(x, -z)
    assert found == pytest.approx(7.75, abs=1e-9)
    assert fret == 6


def test_c_parabola() -> None:
    """Sagitta 0.25 over 400, 41 points: 0.25, and all of it bow, none of it S."""
    x = np.linspace(0.0, 400.0, 41)
    z = -0.25 * (1.0 - ((x - 200.0) / 200.0) ** 2)
    assert depth(x, z) == (pytest.approx(0.25, abs=1e-9), 21)
    line = smooth_line(x, z, x.size)
    assert line is not None
    assert line.terms[2:] == pytest.approx([-0.25, 0.0], abs=1e-9)


@pytest.mark.parametrize(
    ("radius", "chord", "sagitta"),
    [(100_000.0, 450.0, 0.253125320362139), (50_000.0, 650.0, 1.056261156876)],
)
def test_a_neck_bent_to_a_circle(radius: float, chord: float, sagitta: float) -> None:
    x = np.linspace(0.0, chord, 41)
    y = x - 0.5 * chord
    z = y**2 / (radius + np.sqrt(radius**2 - y**2))
    assert depth(x, z) == (pytest.approx(sagitta, abs=1e-9), 21)
