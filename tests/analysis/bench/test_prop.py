"""The neck over a prop, against integrals of its curvature."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.bench.prop import (
    MOST_AT_NUT_MM,
    NUT_STIFFNESS,
    most_lift_mm,
    nut_lift_mm,
    prop_lifts,
    prop_places,
)
from analysis.instrument import Instrument, joint_mm


def integrated(s: np.ndarray, arm: float, joint: float, nut_stiffness: float) -> np.ndarray:
    """Moment over stiffness, twice summed by the trapezium rule."""
    stiff = 1.0 - (1.0 - nut_stiffness) * s / joint
    curve = np.clip(arm - s, 0.0, None) / stiff
    step = s[1] - s[0]
    slope = np.concatenate([[0.0], np.cumsum(0.5 * step * (curve[1:] + curve[:-1]))])
    return np.concatenate([[0.0], np.cumsum(0.5 * step * (slope[1:] + slope[:-1]))])


@pytest.mark.parametrize("fret", [1, 5, 7])
def test_both_cases_are_beams_held_at_the_joint(walnut: Instrument, fret: int) -> None:
    joint = joint_mm(walnut)
    s = np.linspace(0.0, joint, 4001)
    arm = joint - float(walnut.fret_x_mm(fret, 3.5))
    first = joint - float(walnut.fret_x_mm(1.0, 3.5))
    for found, stiffness in zip(
        prop_lifts(walnut, fret, joint - s[:, None]), (1.0, NUT_STIFFNESS), strict=True
    ):
        by_hand = integrated(s, arm, joint, stiffness)
        by_hand /= np.interp(first, s, by_hand)
        np.testing.assert_allclose(found[:, 0], by_hand, atol=2e-6)


def test_past_the_joint_nothing_moves(walnut: Instrument) -> None:
    x = np.array([[joint_mm(walnut) + 20.0]])
    assert all(lift[0, 0] == 0.0 for lift in prop_lifts(walnut, 3, x))


def test_no_prop_bends_the_joint_more_than_one_at_the_nut(walnut: Instrument) -> None:
    """At the joint the curvature is that of the load's moment: 3 h / arm^2."""
    joint = joint_mm(walnut)
    for fret in prop_places(walnut):
        lift = most_lift_mm(walnut, fret)
        s = np.array([[1e-3]])
        curve = 2.0 * lift * prop_lifts(walnut, fret, joint - s)[0][0, 0] / 1e-6
        assert curve == pytest.approx(3.0 * MOST_AT_NUT_MM / joint**2, rel=1e-4)
        assert nut_lift_mm(walnut, fret, lift) <= MOST_AT_NUT_MM


def test_places_lie_in_the_nuts_half(walnut: Instrument) -> None:
    assert prop_places(walnut) == (1, 3, 5)
