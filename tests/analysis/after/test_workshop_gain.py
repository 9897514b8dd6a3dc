"""What other tools and metals say of a new one."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.after.law import NEW_GAIN, U_NEW_GAIN, Law, Session, fit_law
from analysis.after.workshop import workshop_gain


def law(gain: float, u_gain: float = 0.01) -> Law:
    return Law(gain, u_gain, 0.0, 0.3, 1.0, 40)


def test_an_empty_workshop_knows_no_hand() -> None:
    assert workshop_gain([]) == pytest.approx((NEW_GAIN, U_NEW_GAIN))


def test_one_other_law_draws_weakly() -> None:
    gain, u = workshop_gain([law(0.85)])
    assert 0.85 < gain < 0.9
    assert 0.08 < u < 0.2


def test_laws_alike_draw_closer_than_laws_that_differ() -> None:
    alike = workshop_gain([law(g) for g in (0.86, 0.87, 0.88, 0.89)])
    differ = workshop_gain([law(g) for g in (0.6, 0.8, 1.0, 1.2)])
    assert alike[0] == pytest.approx(0.875, abs=0.01)
    assert alike[1] < 0.08
    assert differ[0] == pytest.approx(0.9, abs=0.03)
    assert differ[1] > 0.15


def test_coverage_of_a_new_tool() -> None:
    """Drawn as thought: 95 in 100 new tools lie within 1.96 u of what the others say."""
    rng = np.random.default_rng(2)
    held = []
    for _ in range(400):
        centre, spread = rng.normal(1.0, 0.3), abs(rng.normal(0.0, 0.1))
        true = centre + spread * rng.normal(size=4)
        gain, u = workshop_gain([law(t + rng.normal(0, 0.01)) for t in true[:3]])
        held.append(abs(gain - true[3]) < 1.96 * u)
    assert 0.92 <= np.mean(held) <= 0.99


def test_a_new_tool_s_few_cuts_are_drawn_to_the_workshop() -> None:
    few = Session(np.array([5.0, 8.0, 11.0]), np.array([6.5, 7.2, 11.6]), np.zeros(3), np.ones(3))
    start = workshop_gain([law(0.86), law(0.88), law(0.9)])
    assert abs(fit_law([few], *start).gain - 0.88) < abs(fit_law([few]).gain - 0.88)
    assert fit_law([few], *start).u_gain < fit_law([few]).u_gain
