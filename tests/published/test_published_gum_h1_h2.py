"""JCGM 100:2008 (GUM), annexes H.1 (end gauge) and H.2 (resistance and reactance), as budgets.

Against the printed values half a unit of their last digit; against the same sums in more
digits, recomputed from the printed inputs, 1e-5.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from calibration.uncertainty.budget import Budget, Term, combine

DATA = Path(__file__).parent / "data" / "gum_h2_impedance.csv"
LENGTH_NM, ALPHA = 50_000_623.0, 11.5e-6


@pytest.fixture(scope="module")
def comparator() -> Budget:
    """H.1.3.2: the difference measured, of three parts."""
    return combine(
        [Term("readings", 5.8, dof=24), Term("random", 3.9, dof=5), Term("systematic", 6.7, dof=8)]
    )


@pytest.fixture(scope="module")
def gauge(comparator: Budget) -> Budget:
    """Table H.1; the terms whose sensitivity is 0 are there too."""
    return combine(
        [
            Term("l_s", 25.0, dof=18),
            Term("d", comparator.u, dof=comparator.dof),
            Term("alpha_s", 2e-6 / np.sqrt(3.0), 0.0),
            Term("theta", 0.406202, 0.0),
            Term("delta alpha", 1e-6 / np.sqrt(3.0), LENGTH_NM * 0.1, 50),
            Term("delta theta", 0.05 / np.sqrt(3.0), -LENGTH_NM * ALPHA, 2),
        ]
    )


def test_h1_the_comparator(comparator: Budget) -> None:
    assert comparator.u == pytest.approx(9.681942, rel=1e-6)
    assert comparator.dof == pytest.approx(25.447, abs=5e-4)
    assert comparator.dof == pytest.approx(25.6, abs=0.2)


def test_h1_terms_and_sum(gauge: Budget) -> None:
    by_name = {term.name: term.contribution for term in gauge.terms}
    assert by_name["delta alpha"] == pytest.approx(2.886787, abs=5e-6)
    assert by_name["delta theta"] == pytest.approx(16.599027, abs=5e-6)
    assert gauge.u == pytest.approx(31.663879, rel=1e-6)
    assert round(gauge.u) == 32
    assert [term.name for term in gauge.terms][:3] == ["l_s", "delta theta", "d"]
    assert sum(gauge.shares) == pytest.approx(1.0)


def test_h1_degrees_of_freedom_are_cut_before_the_look_up(gauge: Budget) -> None:
    assert gauge.dof == pytest.approx(16.752, abs=5e-4)
    assert gauge.dof == pytest.approx(16.7, abs=0.1)
    assert gauge.k95 == pytest.approx(2.119905, abs=5e-7)


def _impedance(correlated: bool) -> dict[str, Budget]:
    """R = V / I cos(phi), X = V / I sin(phi), Z = V / I from the five sets' means."""
    sets = np.loadtxt(DATA, delimiter=",", skiprows=3)
    v, i, phi = means = sets.mean(axis=0)
    u = sets.std(axis=0, ddof=1) / np.sqrt(len(sets))
    r = np.corrcoef(sets.T)
    names = ("V", "I", "phi")
    pairs = {(names[a], names[b]): r[a, b] for a, b in ((0, 1), (0, 2), (1, 2))}
    z, c, s = v / i, np.cos(phi), np.sin(phi)
    sensitivities = {
        "R": (c / i, -z * c / i, -z * s),
        "X": (s / i, -z * s / i, z * c),
        "Z": (1.0 / i, -z / i, 0.0),
    }
    assert means.size == 3
    return {
        name: combine(
            [Term(n, x, k, dof=4) for n, x, k in zip(names, u, ks, strict=True)],
            pairs if correlated else {},
        )
        for name, ks in sensitivities.items()
    }


def test_h2_correlated_inputs() -> None:
    found = _impedance(correlated=True)
    for name, printed, more in (
        ("R", 0.071, 0.071071),
        ("X", 0.295, 0.295582),
        ("Z", 0.236, 0.236336),
    ):
        assert found[name].u == pytest.approx(printed, abs=1.5e-3)
        assert found[name].u == pytest.approx(more, abs=1e-6)
    assert found["R"].dof == pytest.approx(4.0)


def test_h2_leaving_the_correlation_out_is_wrong_either_way() -> None:
    """Recomputed: 2.7 times too much for R, too little for X."""
    found = _impedance(correlated=False)
    assert found["R"].u == pytest.approx(0.1945, abs=5e-5)
    assert found["X"].u == pytest.approx(0.2009, abs=5e-5)
