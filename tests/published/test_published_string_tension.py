"""String physics: Mersenne's law (1636), steel 7850 kg/m3 and 200 GPa, L = 0.650 m.

Values recomputed in CHECKS 8.1; the textbook formulas there are from memory.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import StringSpec
from analysis.strings.strings import StringLoad, bend_mm, mass_kg_per_m, tension_n

DATA = Path(__file__).parent / "data" / "string_tension.csv"
ROWS = [
    (row[0], *map(float, row[1:5]))
    for row in (line.split(",") for line in DATA.read_text().splitlines()[2:])
]


@pytest.mark.parametrize(("note", "hz", "d_mm", "mu", "tension"), ROWS)
def test_mass_and_tension(note: str, hz: float, d_mm: float, mu: float, tension: float) -> None:
    mass = mass_kg_per_m(StringSpec(note, hz, d_mm, wound=False))
    assert mass == pytest.approx(mu, rel=1e-10)
    assert tension_n(mass, 650.0, hz) == pytest.approx(tension, rel=1e-10)


def test_stretch_of_a_sideways_push() -> None:
    """E4, pushed 2 mm aside at 162.5 mm: 0.255837 N more, 3.0268 cents up (CHECKS 8.1).

    Our bend takes the square approximation of the stretch, 0.01641026 for 0.01640977 mm, so it
    asks for 2 mm within half of that relative difference.
    """
    area = np.pi * 0.254e-3**2 / 4.0
    load = StringLoad(3.97765371e-4, 73.0399890, 200e9 * area)
    push = bend_mm(load, 650.0, np.array([162.5]), 0.030268)
    assert push[0] == pytest.approx(2.0, rel=5e-5)
