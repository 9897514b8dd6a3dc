"""S-shape, fall-away and humps along a string: exact on their own shapes, honest on scatter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.form.along import Along, along_of, humps_of, room_mm
from analysis.form.line import smooth_line
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.neck.terms import Terms

FRETS = np.arange(1, 23)
X = 641.0 * (1.0 - 2.0 ** (-FRETS / 12.0))
JOINT = 16
T = (X - 0.5 * (X[0] + X[15])) / (0.5 * (X[15] - X[0]))


def neck(s: float, fall: float, bow: float = 0.1, tilt: float = 0.0) -> np.ndarray:
    """Tops of a neck with an S of height s, written from its definition: a cubic that is
    nothing at both ends and in the middle; falling away by `fall` at its last fret."""
    inside = FRETS <= JOINT
    cubic = np.where(inside, 1.5 * np.sqrt(3.0) * (T - T**3), 0.0)
    past = np.where(inside, 0.0, (X - X[15]) / (X[-1] - X[15]))
    return 1.0 + tilt * T - bow * np.where(inside, 1.0 - T**2, 0.0) + s * cubic - fall * past


def one(make_shape: Callable[..., Shape], walnut: Instrument, z: np.ndarray) -> Along:
    shape = make_shape(walnut)
    return along_of(replace(shape, top_mm=np.tile(z[:, None], 6)), walnut)[2]


@settings(deadline=None, max_examples=30)
@given(st.floats(-0.1, 0.1), st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.floats(-1.0, 1.0))
def test_each_shape_is_found_and_none_leaks_into_another(
    s: float, fall: float, bow: float, tilt: float
) -> None:
    line = smooth_line(X, neck(s, fall, bow, tilt), JOINT)
    assert line is not None
    np.testing.assert_allclose(line.value_mm, neck(s, fall, bow, tilt), atol=1e-9)
    assert line.terms[2] == pytest.approx(-bow, abs=1e-8)


@pytest.mark.parametrize(("s", "fall"), [(0.03, 0.1), (-0.02, 0.0), (0.0, -0.08)])
def test_s_and_fall_away(
    make_shape: Callable[..., Shape], walnut: Instrument, s: float, fall: float
) -> None:
    found = one(make_shape, walnut, neck(s, fall))
    assert found.s_mm == pytest.approx(s, abs=1e-6)
    assert found.fall_away_mm == pytest.approx(fall, abs=1e-6)
    assert found.humps == ()
    # tops known to a micrometre each
    assert 0.0002 < found.u_s_mm < 0.001
    assert 0.0005 < found.u_fall_away_mm < 0.003


def test_s_is_positive_where_the_nuts_half_lies_low() -> None:
    z = neck(0.05, 0.0, bow=0.0)
    assert z[4] < 1.0 < z[12]


def test_uncertainties_cover_what_frets_scatter_by(
    make_shape: Callable[..., Shape], walnut: Instrument
) -> None:
    rng = np.random.default_rng(2)
    off = []
    for _ in range(150):
        found = one(make_shape, walnut, neck(0.02, 0.05) + rng.normal(0.0, 0.01, 22))
        off.append((found.s_mm - 0.02) / found.u_s_mm)
        off.append((found.fall_away_mm - 0.05) / found.u_fall_away_mm)
    assert np.mean(np.abs(off) <= 2.0) > 0.88
    assert 0.8 < np.std(off) < 1.35


def test_a_few_worn_frets_hardly_move_the_line() -> None:
    z = neck(0.02, 0.05) + np.random.default_rng(5).normal(0.0, 0.003, 22)
    worn = z.copy()
    worn[[1, 9]] -= 0.08
    clean, dented = smooth_line(X, z, JOINT), smooth_line(X, worn, JOINT)
    assert clean is not None
    assert dented is not None
    assert np.max(np.abs(clean.value_mm - dented.value_mm)) < 0.006


def test_a_high_fret_and_a_low_stretch(
    make_shape: Callable[..., Shape], walnut: Instrument
) -> None:
    z = neck(0.0, 0.05) + np.random.default_rng(6).normal(0.0, 0.002, 22)
    z[11] += 0.05
    z[4:7] -= 0.05
    high, low = sorted(one(make_shape, walnut, z).humps, key=lambda hump: -hump.height_mm)
    assert (high.first, high.fret, high.last) == (12, 12, 12)
    assert high.height_mm == pytest.approx(0.05, abs=0.008)
    assert (low.first, low.last) == (5, 7)
    assert -0.055 < low.height_mm < -0.03


def test_a_hump_over_the_body_joint_is_seen(
    make_shape: Callable[..., Shape], walnut: Instrument
) -> None:
    """Three frets wide: the line turns there, and still does not swallow it."""
    z = neck(0.0, 0.05) + 0.08 * np.exp(-0.5 * ((X - X[15]) / 12.0) ** 2)
    humps = one(make_shape, walnut, z).humps
    assert any(hump.height_mm > 0.02 and hump.first <= 16 <= hump.last for hump in humps)


def test_standing_out_has_a_guard_band_and_neighbours_count_together() -> None:
    u = np.full(22, 0.002)
    off = np.zeros(22)
    off[3], off[8:11], off[14:16], off[20] = 0.0145, -0.0095, 0.012, -0.0139
    found = [(h.first, h.last) for h in humps_of(off, u)]
    # 0.0145 - 0.004 clears 0.01, 0.0139 does not; three of 0.0095 clear half of it, two do not
    assert found == [(4, 4), (9, 11)]
    off[9] = np.nan
    assert [(h.first, h.last) for h in humps_of(off, u)] == [(4, 4)]


def test_unseen_tops(make_shape: Callable[..., Shape], walnut: Instrument) -> None:
    z = neck(0.03, 0.1)
    z[[2, 7, 19]] = np.nan
    found = one(make_shape, walnut, z)
    assert found.s_mm == pytest.approx(0.03, abs=1e-6)
    assert np.isnan(found.off_mm[2])
    z[3:14] = np.nan
    few = one(make_shape, walnut, z)
    assert np.isnan(few.s_mm)
    assert few.humps == ()


def test_no_fret_past_the_joint(make_shape: Callable[..., Shape], walnut: Instrument) -> None:
    short = replace(walnut, frets=16)
    shape = make_shape(short)
    z = np.tile(neck(0.03, 0.1)[:16, None], 6)
    found = along_of(replace(shape, top_mm=z), short)[0]
    assert found.s_mm == pytest.approx(0.03, abs=1e-6)
    assert np.isnan(found.fall_away_mm)


def test_the_rail_bends_s_as_one(make_shape: Callable[..., Shape], walnut: Instrument) -> None:
    """Terms that are one factor over the neck make no S of a straight lift."""
    shape = make_shape(walnut)
    tip = Terms({"tip": np.full_like(shape.top_mm, 0.01)})
    z = np.tile(neck(0.03, 0.1)[:, None], 6)
    found = along_of(replace(shape, top_mm=z, terms=tip), walnut)[0]
    assert found.u_s_mm < 1e-4


def test_room_over_the_next_fret(walnut: Instrument) -> None:
    """Fretted anywhere: checked by the line from fret 5 to the saddle."""
    saddle = 2.0 * 1.4 - 0.4
    rise = saddle * (X[5] - X[4]) / (641.0 - X[4])
    assert room_mm(walnut)[0] == pytest.approx(rise, rel=1e-12)
    assert room_mm(walnut)[0] == pytest.approx(saddle * (X[15] - X[14]) / (641.0 - X[14]))
