"""The neck under its strings, unstrung, strung, and inferred."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.movement.inferred import inferred_strung_shape, movement
from analysis.movement.untouched import untouched_movement
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.neck.shape import Shape, strung_shape, unstrung_shape

MakeNeck = Callable[..., Any]


def strung_bow(x: np.ndarray) -> np.ndarray:
    """More relief, and the whole neck elsewhere on the rig."""
    return 0.4 * ((x - 225.0) / 225.0) ** 2 + 0.5 - 0.001 * x


@pytest.fixture(scope="module")
def states(make_neck: MakeNeck, walnut: Instrument) -> tuple[Any, Any]:
    """Unstrung and strung, dents of 20 to 60 um under every string at frets 1 to 5."""
    rng = np.random.default_rng(4)
    high = 1.1 + rng.normal(0.0, 0.01, (22, 1)) * np.ones(6)
    loose = make_neck(walnut, height_mm=high, roll_mrad=1.0)
    return loose, replace(loose, bow_mm=strung_bow, twist_mrad_per_mm=0.004)


@pytest.fixture(scope="module")
def necks(states: tuple[Any, Any], walnut: Instrument) -> tuple[Neck, Neck]:
    loose, strung = states
    return (
        read_neck(loose.profiles(seed=1), walnut, Tip(1.0)),
        read_neck(strung.profiles(seed=2, strung=True), walnut, Tip(1.0)),
    )


def level(shape: Shape, z: np.ndarray) -> np.ndarray:
    """Less the plane of least squares: compare tops as shapes."""
    design = np.column_stack([np.ones(132), shape.x_mm.ravel(), shape.y_mm.ravel()])
    fit, *_ = np.linalg.lstsq(design, z.ravel(), rcond=None)
    return np.asarray(z - (design @ fit).reshape(z.shape))


def as_shapes(shape: Shape, neck: Any) -> tuple[np.ndarray, np.ndarray]:
    """Measured and true tops, each level."""
    true = np.stack([neck.top_mm(float(s)) for s in range(1, 7)], axis=1)
    return level(shape, shape.top_mm), level(shape, true)


def covered(shape: Shape, neck: Any) -> np.ndarray:
    """bool[frets, strings]: within twice u, once the tip's lift is taken out.

    That lifts all tops by one unknown share of the same lift; here by all of it, the end of what
    its rectangle allows, which is sqrt(3) standard uncertainties for every top alike.
    """
    found, true = as_shapes(shape, neck)
    tip = shape.terms.parts["tip"]
    lift = level(shape, tip)
    share = np.sum((found - true) * lift) / np.sum(lift**2)
    assert abs(share) < np.sqrt(3.0) + 0.25
    return np.abs(found - true - share * lift) < 2.0 * np.sqrt(shape.u_top_mm**2 - tip**2)


def test_unstrung_tops(necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any) -> None:
    shape = unstrung_shape(necks[0], walnut)
    found, true = as_shapes(shape, states[0])
    assert np.std(found - true) < 1e-3
    assert np.mean(covered(shape, states[0])) > 0.93
    assert set(shape.status.ravel()) == {"ok"}
    assert shape.twist_mrad == pytest.approx(0.0, abs=max(0.1, 3.0 * shape.u_twist_mrad))


def test_strung_tops_are_inferred_under_the_strings(
    necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any
) -> None:
    shape, field = inferred_strung_shape(necks[1], necks[0], walnut)
    found, true = as_shapes(shape, states[1])
    assert np.std(found - true) < 1e-3
    within, outer = covered(shape, states[1]), [0, 5]
    assert np.mean(within) > 0.93
    assert np.std((found - true)[:, outer]) < 1.2e-3
    assert np.mean(within[:, outer]) > 0.93
    assert set(shape.status.ravel()) == {"inferred"}
    assert not field.odd.any()
    joint = float(walnut.fret_x_mm(16.0, 1.0))
    assert shape.twist_mrad == pytest.approx(0.004 * joint, abs=3 * shape.u_twist_scan_mrad)


def test_relief_of_each_state(
    necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any
) -> None:
    shapes = unstrung_shape(necks[0], walnut), inferred_strung_shape(necks[1], necks[0], walnut)[0]
    for shape, neck in zip(shapes, states, strict=True):
        for s, found in enumerate(shape.relief):
            x, z = shape.x_mm[:16, s], neck.top_mm(float(s + 1))[:16]
            depth = np.interp(x, x[[0, -1]], z[[0, -1]]) - z
            # at the deepest of noisy frets it is biased up by part of the noise
            assert found.relief_mm == pytest.approx(depth.max(), abs=4.0 * found.u_relief_mm)


def test_strung_alone_carries_the_wear_it_cannot_see(
    necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any
) -> None:
    shape = strung_shape(necks[1], walnut)
    found, true = as_shapes(shape, states[1])
    # string 1 and 6 lie outside the outer lanes: from both neighbours on one side
    assert np.max(np.abs(found - true)) < 0.015
    assert np.all(shape.u_top_mm >= 0.02)
    assert set(shape.status.ravel()) == {"inferred"}


def test_movement_is_that_of_the_lanes_both_share(
    necks: tuple[Neck, Neck], states: tuple[Any, Any]
) -> None:
    field = movement(necks[1], necks[0], 380.0)
    loose, strung = states
    x, y = necks[0].x_mm, necks[0].y_mm
    true = strung.board_mm(x, y) - loose.board_mm(x, y)
    value, u = field.at(x, y)
    assert np.std(value - true) < 1e-3
    assert np.mean(np.abs(value - true) < 2.0 * u) > 0.8


def test_scans_without_a_common_lane_are_refused(necks: tuple[Neck, Neck]) -> None:
    apart = replace(necks[1], string=necks[1].string + 20.0)
    with pytest.raises(ValueError, match="no lane in common"):
        movement(apart, necks[0], 380.0)


def test_a_lane_that_missed_its_string_is_not_taken_for_it(
    necks: tuple[Neck, Neck], walnut: Any
) -> None:
    shifted = necks[0].y_mm.copy()
    shifted[:, 4] += 2.0
    shape = unstrung_shape(replace(necks[0], y_mm=shifted), walnut)
    assert set(shape.status[:, 2]) == {"inferred"}
    assert set(shape.status[:, 1]) == {"ok"}


def test_tops_are_moved_along_the_arc_from_lane_to_string(
    necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any
) -> None:
    """The lanes lay 0.4 mm beside their strings: worth up to 29 um at the outer ones."""
    neck, made = necks[0], states[0]
    off = 0.4
    there = made.board_mm(neck.x_mm, neck.y_mm + off) - made.board_mm(neck.x_mm, neck.y_mm)
    beside = replace(neck, y_mm=neck.y_mm + off, top_mm=neck.top_mm + there)
    straight, moved = unstrung_shape(neck, walnut), unstrung_shape(beside, walnut)
    assert np.max(np.abs(there)) > 0.025
    np.testing.assert_allclose(moved.top_mm, straight.top_mm, atol=1e-3)


def beside(neck: Neck, made: Any, off_mm: np.ndarray) -> Neck:
    """As a scan whose lanes lay so far across would have it: off_mm, float[lanes]."""
    gap_y = gap_y_mm(neck, made)
    there = made.board_mm(neck.x_mm, neck.y_mm + off_mm) - made.board_mm(neck.x_mm, neck.y_mm)
    board = made.board_mm(neck.gap_x_mm, gap_y + off_mm) - made.board_mm(neck.gap_x_mm, gap_y)
    return replace(
        neck,
        y_mm=neck.y_mm + off_mm,
        top_mm=neck.top_mm + there,
        board_mm=neck.board_mm + board,
    )


def gap_y_mm(neck: Neck, made: Any) -> np.ndarray:
    return np.asarray(made.instrument.string_y_mm(neck.string, neck.gap_x_mm))


def test_a_neck_shifted_on_the_rig_has_other_lanes_and_no_other_movement(
    necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any
) -> None:
    """A fan's outer lanes lie 0.1 mm further out: 6 um of height that are no movement."""
    out = 0.1 * np.linspace(1.0, -1.0, 11)
    moved = beside(necks[0], states[0], out)
    assert np.max(np.abs(moved.top_mm - necks[0].top_mm)) > 5e-3
    x, y = necks[1].x_mm, necks[1].y_mm
    first, second = (movement(necks[1], one, 380.0).at(x, y)[0] for one in (necks[0], moved))
    np.testing.assert_allclose(second, first, atol=0.3e-3)
    still = untouched_movement(necks[0], moved, np.zeros((22, 6)), 380.0)
    assert np.max(np.abs(still.at(x, y)[0])) < 0.3e-3


def test_ways_that_disagree_make_a_top_doubtful(necks: tuple[Neck, Neck], walnut: Any) -> None:
    ways = necks[0].ways_um.copy()
    ways[5, 2] = 40.0
    shape = unstrung_shape(replace(necks[0], ways_um=ways), walnut)
    assert shape.status[5, 1] == "doubtful: the two ways disagree"
    assert shape.u_top_mm[5, 1] > 0.019


def test_a_top_nobody_saw_says_so(necks: tuple[Neck, Neck], walnut: Any) -> None:
    top = necks[0].top_mm.copy()
    top[7, 4] = np.nan
    shape = unstrung_shape(replace(necks[0], top_mm=top), walnut)
    assert np.isnan(shape.top_mm[7, 2])
    assert shape.status[7, 2] == "not seen: no crown, or too few readings"


def test_between_the_strings(
    necks: tuple[Neck, Neck], states: tuple[Any, Any], walnut: Any
) -> None:
    shape = unstrung_shape(necks[0], walnut)
    true = np.stack([states[0].top_mm(s + 0.5) for s in range(1, 6)], axis=1)
    under = np.stack([states[0].top_mm(float(s)) for s in range(1, 7)], axis=1)
    # the same plane is taken off both
    step = shape.between_mm - 0.5 * (shape.top_mm[:, :-1] + shape.top_mm[:, 1:])
    np.testing.assert_allclose(step, true - 0.5 * (under[:, :-1] + under[:, 1:]), atol=5e-3)
