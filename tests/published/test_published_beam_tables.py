"""The movement field against handbook beams: Roark's Formulas for Stress and Strain, table 8.1
(formulas from memory), recomputed by numerical integration; CHECKS 9, EI = 378 N m^2, L = 450 mm.

Every beam lies between fret 1 and the body-joint fret of a neck, sampled at 22 frets and five
lanes, and goes on past the joint as a stiff body does. The curves are written here from the
formulas, held to the table's deflections, and the field must give them back.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from analysis.movement.movement import fit_movement

Curve = Callable[[np.ndarray], np.ndarray]

DATA = Path(__file__).parent / "data" / "beam_deflection.csv"
with DATA.open(encoding="utf-8") as _lines:
    _rows = csv.DictReader(line for line in _lines if not line.startswith("#"))
    TABLE_MM = {row["case"]: float(row["deflection_mm"]) for row in _rows}

L, EI = 0.450, 378.0
P, M, W, T, E = 20.0, 5.0, 10.0, 700.0, 0.012
K = np.sqrt(T / EI)


def supported(inside: Curve, end_slope: float) -> Curve:
    """Between supports at 0 and L; straight on past L."""
    return lambda x: np.where(x <= L, inside(np.minimum(x, L)), end_slope * (x - L))


def cantilever(of_clamp: Curve) -> Curve:
    """Clamped at L, its free end at 0: nothing moves past L."""
    return lambda x: of_clamp(np.clip(L - x, 0.0, None))


def central(x: np.ndarray) -> np.ndarray:
    near = np.minimum(x, L - x)
    return P * near * (3.0 * L**2 - 4.0 * near**2) / (48.0 * EI)


def one_end(s: np.ndarray) -> np.ndarray:
    """s from the end that has no moment."""
    return M * s * (L**2 - s**2) / (6.0 * EI * L)


def secant(x: np.ndarray) -> np.ndarray:
    return E * (np.cos(K * (L / 2 - x)) / np.cos(K * L / 2) - 1.0)


#: The curve, m over m; where the table's value is taken, m; the table's name for it.
BEAMS: dict[str, tuple[Curve, float, str]] = {
    "end load": (
        cantilever(lambda s: P * s**2 * (3 * L - s) / (6 * EI)), 0.0, "cantilever end load",
    ),
    "end moment": (cantilever(lambda s: M * s**2 / (2 * EI)), 0.0, "cantilever end moment"),
    "uniform on a cantilever": (
        cantilever(lambda s: W * s**2 * (6 * L**2 - 4 * L * s + s**2) / (24 * EI)), 0.0,
        "cantilever uniform load",
    ),
    "equal end moments": (
        supported(lambda x: M * x * (L - x) / (2 * EI), -M * L / (2 * EI)), L / 2,
        "supported equal end moments midspan",
    ),
    "central load": (
        supported(central, -P * L**2 / (16 * EI)), L / 2, "supported centre load midspan",
    ),
    "uniform": (
        supported(lambda x: W * x * (L**3 - 2 * L * x**2 + x**3) / (24 * EI),
                  -W * L**3 / (24 * EI)), L / 2, "supported uniform load midspan",
    ),
    "moment at the joint": (
        supported(one_end, -M * L / (3 * EI)), L / np.sqrt(3), "supported one end moment maximum",
    ),
    "moment at the nut": (
        supported(lambda x: one_end(L - x), -M * L / (6 * EI)), L / 2,
        "supported one end moment midspan",
    ),
    "string pull": (
        supported(lambda x: T * E * x * (L - x) / (2 * EI), -T * E * L / (2 * EI)), L / 2,
        "eccentric pull first order midspan",
    ),
    "string pull, arm growing": (
        supported(secant, -E * K * np.tan(K * L / 2)), L / 2, "eccentric pull secant midspan",
    ),
}  # fmt: skip

_fret = 1.0 - 2.0 ** (-np.arange(1, 23) / 12.0)
X = 450.0 * (_fret - _fret[0]) / (_fret[15] - _fret[0])
LANES = np.array([-20.0, -10.0, 0.0, 10.0, 20.0])
X5, Y5 = np.repeat(X[:, None], 5, axis=1), np.tile(LANES, (22, 1))
X6, Y6 = np.repeat(X[:, None], 6, axis=1), np.tile(np.linspace(-25.0, 25.0, 6), (22, 1))
U = np.full(X5.shape, 1e-3)
NOISE = [np.random.default_rng(seed).normal(0.0, 1e-3, X5.shape) for seed in range(4)]


def mm(curve: Curve, x_mm: np.ndarray) -> np.ndarray:
    return 1e3 * curve(1e-3 * x_mm)


@pytest.mark.parametrize("name", BEAMS)
def test_the_curves_are_the_tables(name: str) -> None:
    curve, at, row = BEAMS[name]
    assert float(1e3 * curve(np.array(at))) == pytest.approx(TABLE_MM[row], rel=1e-9)


def test_every_row_of_the_table_is_used() -> None:
    assert {row for _, _, row in BEAMS.values()} == set(TABLE_MM)


@pytest.mark.parametrize("name", BEAMS)
def test_the_field_gives_the_deflection(name: str) -> None:
    """From frets with 1 um of noise, over a twist that the joint stops: the table's figure."""
    curve, at, row = BEAMS[name]
    off = []
    for noise in NOISE:
        field = fit_movement(X5, Y5, mm(curve, X5) + twist_mm(X5, Y5) + noise, U, 450.0)
        value, u = field.at(np.array([1e3 * at]), np.zeros(1))
        off.append((float(value[0]) - TABLE_MM[row]) / float(u[0]))
        assert 1e3 * u[0] < 1.0
        assert not field.odd[np.abs(noise) < 3.5e-3].any()
    assert np.sqrt(np.mean(np.square(off))) < 2.0


@pytest.mark.parametrize("name", BEAMS)
def test_the_field_is_the_curve_under_every_string(name: str) -> None:
    """0.3 mm of it, within 0.5 um rms with 1 um of noise (of which 0.3 is the noise's own part)
    and 0.05 um without."""
    curve, _, _ = BEAMS[name]
    size = 0.3 / np.max(np.abs(mm(curve, np.linspace(0.0, 450.0, 901))))
    true = size * mm(curve, X6) + twist_mm(X6, Y6)
    seen = size * mm(curve, X5) + twist_mm(X5, Y5)
    plain = fit_movement(X5, Y5, seen, U, 450.0).at(X6, Y6)[0] - true
    assert np.sqrt(np.mean(plain**2)) < 0.05e-3
    off = [fit_movement(X5, Y5, seen + noise, U, 450.0).at(X6, Y6)[0] - true for noise in NOISE]
    assert np.sqrt(np.mean(np.square(off))) < 0.5e-3


@pytest.mark.parametrize("name", BEAMS)
def test_a_beam_that_ends_before_the_joint_is_no_outlier(name: str) -> None:
    """A heel 35 mm before the body-joint fret: a quarter of the frets lie past it, and are not
    left out as what most frets contradict."""
    curve, _, _ = BEAMS[name]
    size = 0.3 / np.max(np.abs(mm(curve, np.linspace(0.0, 450.0, 901))))
    field = fit_movement(X5, Y5, size * mm(curve, X5), U, 485.0)
    assert not field.odd.any()
    off = field.at(X6, Y6)[0] - size * mm(curve, X6)
    assert np.sqrt(np.mean(off**2)) < 0.05e-3


def twist_mm(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A torque between the ends: Saint-Venant's even twist, none past the joint."""
    return np.asarray(2e-6 * (np.minimum(x, 450.0) - 450.0) * y)
