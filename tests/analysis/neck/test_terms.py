"""What an uncertainty is made of goes with it from the crown to the shape."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.movement.inferred import inferred_strung_shape
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.neck.shape import strung_shape, unstrung_shape
from analysis.neck.terms import Terms, stacked
from calibration.profile import Profile


def test_parts_add_in_squares_and_grow() -> None:
    terms = Terms({"noise": np.array([3.0]), "drift": np.array([4.0])})
    assert terms.u_mm == pytest.approx([5.0])
    assert terms.also(drift=np.array([3.0])).parts["drift"] == pytest.approx([5.0])
    assert terms.also(rail=np.array([12.0])).u_mm == pytest.approx([13.0])
    assert terms.each(lambda part: 2.0 * part).u_mm == pytest.approx([10.0])


def test_a_term_that_one_column_lacks_is_0_there() -> None:
    both = stacked([Terms({"noise": np.ones(2)}), Terms({"unseen": np.ones(2)})])
    np.testing.assert_array_equal(both.parts["noise"], [[1.0, 0.0], [1.0, 0.0]])
    np.testing.assert_array_equal(both.parts["unseen"], [[0.0, 1.0], [0.0, 1.0]])


def _profiles(profiles: list[Profile], rail_mm: float, drift_mm: float) -> list[Profile]:
    return [
        replace(p, u_rail_mm=np.full_like(p.u_rail_mm, rail_mm), u_drift_mm=drift_mm)
        for p in profiles
    ]


@pytest.fixture(scope="module")
def neck(make_neck: Callable[..., object], walnut: Instrument) -> Neck:
    """Drift known to 1 um a pass, the rail to 2 um."""
    made = make_neck(walnut)
    return read_neck(_profiles(made.profiles(seed=3), 0.002, 0.001), walnut, Tip(1.0))  # type: ignore[attr-defined]


def test_drift_of_two_passes_and_noise_make_up_the_rest(neck: Neck) -> None:
    """Two passes of a lane, weighted nearly alike: 1 um over the root of 2."""
    np.testing.assert_allclose(neck.terms.parts["drift"], 0.001 / np.sqrt(2.0), rtol=0.02)
    np.testing.assert_allclose(neck.terms.u_mm, neck.u_top_mm)
    assert np.all(neck.terms.parts["noise"] > 0.0)
    assert np.all(neck.terms.parts["spot"] == 0.0)


def test_a_shape_carries_its_terms(neck: Neck, walnut: Instrument) -> None:
    shape = unstrung_shape(neck, walnut)
    np.testing.assert_allclose(shape.terms.u_mm, shape.u_top_mm)
    np.testing.assert_allclose(shape.terms.parts["rail"], 0.002)
    assert np.median(shape.terms.parts["place"]) < 1e-4
    # a smooth board, read to a tenth of a micrometre in every gap
    assert 2e-5 < shape.u_datum_mm < 1e-3


def test_what_no_lane_saw_is_a_term(neck: Neck, walnut: Instrument) -> None:
    between = np.flatnonzero(neck.string % 1.0 > 0.0)
    fewer = replace(
        neck,
        string=neck.string[between],
        terms=neck.terms.each(lambda part: part[:, between]),
        **{
            name: getattr(neck, name)[:, between]
            for name in ("x_mm", "y_mm", "top_mm", "u_top_mm", "u_rail_mm", "flat_mm", "u_flat_mm",
                         "radius_mm", "ways_um", "gap_x_mm", "board_mm", "u_board_mm", "height_mm",
                         "u_height_mm")
        },
    )  # fmt: skip
    shape = strung_shape(fewer, walnut)
    np.testing.assert_allclose(shape.terms.parts["unseen"], 0.02)
    np.testing.assert_allclose(shape.terms.parts["rail"], 0.002)
    np.testing.assert_allclose(shape.terms.u_mm, shape.u_top_mm)
    inner = fewer.terms.parts["drift"][0, 1:3]
    assert shape.terms.parts["drift"][0, 2] == pytest.approx(np.linalg.norm(inner) / 2.0, rel=0.05)


def test_movement_is_a_term_of_the_strung_shape(neck: Neck, walnut: Instrument) -> None:
    shape, field = inferred_strung_shape(neck, neck, walnut)
    _, u_dz = field.at(shape.x_mm, shape.y_mm)
    np.testing.assert_allclose(shape.terms.parts["movement"], u_dz)
    np.testing.assert_allclose(shape.terms.u_mm, shape.u_top_mm)
