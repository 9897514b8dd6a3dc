"""Budgets of a typical top and a typical relief add up to what is stated for them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.budgets import shape_budgets
from analysis.neck.relief import reliefs_by_terms
from analysis.neck.shape import Shape
from analysis.neck.terms import Terms
from calibration.uncertainty.budget import Term


@pytest.fixture
def shape(make_shape: Callable[..., Shape], walnut: Instrument) -> Shape:
    """Noise 0.6, rail 0.8 um everywhere: 1 um a top."""
    one: Shape = make_shape(walnut)
    u = one.u_top_mm
    terms = Terms({"noise": 0.6 * u, "rail": 0.8 * u, "spot": 0.0 * u})
    joint = walnut.body_joint_fret
    relief = reliefs_by_terms(one.x_mm, one.top_mm, terms, joint, None)
    return replace(one, terms=terms, relief=relief)


def test_top_and_relief_add_up(shape: Shape) -> None:
    found = shape_budgets(shape)
    assert found.top is not None
    assert found.relief is not None
    assert found.top.u == pytest.approx(1e-3)
    assert found.top.largest.name == "rail"
    assert found.top.shares == pytest.approx((0.64, 0.36))
    assert [term.name for term in found.top.terms] == ["rail", "noise"]
    stated = np.median([relief.u_relief_mm for relief in shape.relief])
    assert found.relief.u == pytest.approx(float(stated), rel=1e-6)
    assert found.u_datum_mm == shape.u_datum_mm


def test_what_was_measured_comes_on_top(shape: Shape) -> None:
    measured = [Term("repeat", 0.0, dof=18), Term("clamping", 2e-3, dof=2)]
    found = shape_budgets(shape, measured)
    assert found.top is not None
    assert found.top.largest.name == "clamping"
    assert found.top.u == pytest.approx(np.sqrt(5.0) * 1e-3)
    assert found.top.dof == pytest.approx(2.0 * 25.0 / 16.0)


def test_a_shape_of_which_nothing_is_known_has_no_budget(shape: Shape) -> None:
    nothing = np.full_like(shape.top_mm, np.nan)
    blind = replace(
        shape,
        terms=Terms({"noise": nothing}),
        relief=tuple(replace(relief, at_fret=0) for relief in shape.relief),
    )
    found = shape_budgets(blind)
    assert found.top is None
    assert found.relief is None
