"""A budget: sums, shares, order, coverage, and what is no budget."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t

from calibration.uncertainty.budget import BudgetError, Term, combine


def test_sum_shares_and_order() -> None:
    found = combine([Term("small", 3.0), Term("large", 2.0, -2.0)])
    assert found.u == pytest.approx(5.0)
    assert found.largest.name == "large"
    assert found.shares == pytest.approx((16 / 25, 9 / 25))
    assert found.k95 == pytest.approx(1.959964, abs=5e-7)
    assert found.expanded == pytest.approx(5 * 1.959964, abs=5e-6)


def test_terms_of_equal_share_keep_their_order() -> None:
    assert [x.name for x in combine([Term("b", 1.0), Term("a", 1.0)]).terms] == ["b", "a"]


def test_a_difference_of_what_is_wholly_correlated_is_known_for_sure() -> None:
    found = combine(
        [Term("strung", 3.0), Term("unstrung", 3.0, -1.0)], {("strung", "unstrung"): 1.0}
    )
    assert found.u == pytest.approx(0.0, abs=1e-12)
    assert found.shares == (0.0, 0.0)
    assert found.dof == np.inf


def test_a_correlation_can_take_away_from_the_whole() -> None:
    found = combine([Term("a", 3.0), Term("b", 1.0, -1.0)], {("a", "b"): 0.9})
    assert found.u == pytest.approx(np.sqrt(9 + 1 - 2 * 0.9 * 3))
    assert found.shares[1] < 0.0
    assert sum(found.shares) == pytest.approx(1.0)


def test_degrees_of_freedom_by_hand() -> None:
    """(3^2 + 4^2)^2 / (3^4 / 3 + 4^4 / 8) = 625 / 59."""
    found = combine([Term("a", 3.0, dof=3), Term("b", 4.0, dof=8)])
    assert found.dof == pytest.approx(625 / 59)
    assert found.k95 == pytest.approx(t.ppf(0.975, 10))


def test_under_one_degree_of_freedom_one_is_taken() -> None:
    assert combine([Term("a", 1.0, dof=0.5)]).k95 == pytest.approx(t.ppf(0.975, 1))


def test_nothing_uncertain() -> None:
    found = combine([Term("a", 0.0, dof=3)])
    assert found.u == 0.0
    assert found.dof == np.inf


@pytest.mark.parametrize(
    ("terms", "message"),
    [
        ([], "one or more"),
        ([Term("a", 1.0), Term("a", 1.0)], "each name once"),
        ([Term("a", -1.0)], "found u -1; allowed 0 or more"),
        ([Term("a", np.nan)], "found u nan"),
        ([Term("a", 1.0, np.inf)], "found u 1"),
        ([Term("a", 1.0, dof=0.0)], "0 degrees of freedom"),
    ],
)
def test_what_is_no_budget(terms: list[Term], message: str) -> None:
    with pytest.raises(BudgetError, match=message):
        combine(terms)


@pytest.mark.parametrize("pair", [("a", "c"), ("a", "a")])
def test_a_correlation_of_what_is_not_there(pair: tuple[str, str]) -> None:
    with pytest.raises(BudgetError, match="two terms"):
        combine([Term("a", 1.0), Term("b", 1.0)], {pair: 0.5})


def test_a_correlation_past_1() -> None:
    with pytest.raises(BudgetError, match="allowed -1 to 1"):
        combine([Term("a", 1.0), Term("b", 1.0)], {("a", "b"): 1.1})
