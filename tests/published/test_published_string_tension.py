"""String physics: Mersenne's law (1636), steel 7850 kg/m3 and 200 GPa, L = 0.650 m.

Values recomputed in CHECKS 8.1; the textbook formulas there (Fletcher and Rossing, chapters 2
and 12) are from memory.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import StringSpec
from analysis.strings.bends import bend_mm, pushed_tension_n
from analysis.strings.strings import StringLoad, mass_kg_per_m, stress_pa, string_load, tension_n
from analysis.strings.swings import partials_rad_s

DATA = Path(__file__).parent / "data" / "string_tension.csv"
ROWS = [
    (row[0], *map(float, row[1:7]))
    for row in (line.split(",") for line in DATA.read_text().splitlines()[2:])
]
#: E4, its stretching stiffness E A
E4 = StringLoad(3.97765371e-4, 73.0399890, 200e9 * np.pi * 0.254e-3**2 / 4.0, 0.0)


@pytest.mark.parametrize(("note", "hz", "d_mm", "mu", "tension", "stress", "b"), ROWS)
def test_mass_tension_stress_and_inharmonicity(
    note: str, hz: float, d_mm: float, mu: float, tension: float, stress: float, b: float
) -> None:
    spec = StringSpec(note, hz, d_mm, wound=False)
    mass = mass_kg_per_m(spec)
    assert mass == pytest.approx(mu, rel=1e-10)
    assert tension_n(mass, 650.0, hz) == pytest.approx(tension, rel=1e-10)
    load = string_load(spec, 650.0)
    assert stress_pa(load, spec) == pytest.approx(1e6 * stress, rel=1e-8)
    assert _inharmonicity(load) == pytest.approx(b, rel=1e-8)


def _inharmonicity(load: StringLoad) -> float:
    """B of the open string, from its lowest two partials: B = pi^3 E d^4 / (64 T L^2)."""
    first, second = partials_rad_s(load, np.array([650.0]), 2)[0] ** 2
    ratio = second / (4.0 * first)
    return float((ratio - 1.0) / (4.0 - ratio))


def test_stress_does_not_depend_on_the_diameter() -> None:
    specs = [StringSpec("E4", 329.627557, d, wound=False) for d in (0.2, 0.254, 0.5)]
    stress = [stress_pa(string_load(spec, 650.0), spec) for spec in specs]
    assert stress == pytest.approx([1441.46262e6] * 3, rel=1e-8)


def test_partials_of_a_stiff_string() -> None:
    """G3: n f0 sqrt(1 + B n^2), in cents over n f1; finite differences put f1, f5, f10 beside it
    within their grid's error."""
    load = string_load(StringSpec("G3", 195.997718, 0.4318, wound=False), 650.0)
    w = partials_rad_s(load, np.array([650.0]), 10)[0]
    n = np.array([2, 5, 10])
    cents = 1200.0 * np.log2(w[n - 1] / (n * w[0]))
    assert cents.tolist() == pytest.approx([0.277345, 2.216279, 9.105803], abs=5e-7)
    partials = w[np.array([1, 5, 10]) - 1] / (2.0 * np.pi)
    assert partials.tolist() == pytest.approx([196.00819, 981.2964, 1970.419], rel=3e-8, abs=5e-4)
    assert partials.tolist() == pytest.approx([196.00806, 981.2806, 1970.291], rel=1e-4)


def test_stretch_of_a_sideways_push() -> None:
    """E4, pushed 2 mm aside at 162.5 mm: 0.01640977 mm longer, 3.0268 cents up; string beyond the
    ends ignored. CHECKS prints 0.255837 N more; E A dL / L of its own digits is 0.255845."""
    at, push = np.array([162.5]), np.array([2.0])
    rise = float(pushed_tension_n(E4, 650.0, at, push, beyond_mm=0.0)[0]) - E4.tension_n
    assert rise == pytest.approx(0.255845, abs=5e-7)
    assert 650.0 * rise / E4.stiffness_n == pytest.approx(0.01640977, abs=5e-9)
    cents = 600.0 * np.log2(1.0 + rise / E4.tension_n)
    assert cents == pytest.approx(3.0268, abs=5e-5)
    found = bend_mm(E4, 650.0, at, cents / 100.0, beyond_mm=0.0)
    assert found[0] == pytest.approx(2.0, rel=1e-9)
