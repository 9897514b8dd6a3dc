"""Straightness, minimum zone (ISO 12780-1's MZLI): exact answers of CHECKS 5.1, tolerance 1e-9.

Levelling's line lies under every top. Where the lower of the two minimum-zone lines is also the
one that takes least, as on profiles that stand over the line through their ends, what it takes
at the most is the minimum-zone straightness.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.level import level_mm
from analysis.plan.setup import setup_from
from analysis.rod.rod import RodCase

DATA = Path(__file__).parent / "data" / "straightness_examples.csv"


@pytest.fixture(scope="module")
def over_lowest_line(
    walnut: Instrument, make_shape: Callable[..., Shape]
) -> Callable[[np.ndarray, np.ndarray], np.ndarray]:
    """What levelling takes off a profile, through a neck with a fret at every point."""

    def off(x: np.ndarray, z: np.ndarray) -> np.ndarray:
        nodes = np.ones(2 * len(walnut.strings) - 1)
        setup = setup_from(make_shape(walnut), walnut)
        setup = replace(setup, node_x_mm=np.outer(x, nodes), node_z_mm=np.outer(z, nodes))
        still = np.zeros((x.size, len(walnut.strings)))
        return level_mm(setup, RodCase(still, still[0]), 0.0)[:, 0]

    return off


def test_b_nine_points(over_lowest_line: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> None:
    """Slope 0.005 um/mm, width 7.75 um."""
    lines = [row.split(",") for row in DATA.read_text().splitlines()[2:]]
    x, z = np.array([[float(r[1]), float(r[2])] for r in lines if r[0] == "B"]).T
    off = over_lowest_line(x, z)
    assert off.max() == pytest.approx(7.75, abs=1e-9)
    np.testing.assert_allclose(z - off, 0.005 * x, atol=1e-9)


def test_c_parabola(over_lowest_line: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> None:
    """Sagitta 0.25 over 400, 41 points: 0.25."""
    x = np.linspace(0.0, 400.0, 41)
    z = 0.25 * (1.0 - ((x - 200.0) / 200.0) ** 2)
    assert over_lowest_line(x, z).max() == pytest.approx(0.25, abs=1e-9)
