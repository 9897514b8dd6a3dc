"""The instrument as numbers: frets, saddles and strings in one frame."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument


def test_octave_is_half_the_scale(walnut: Instrument) -> None:
    assert walnut.fret_x_mm(12.0, 3.0) == pytest.approx(320.5, abs=1e-9)
    assert walnut.saddle_x_mm(3.0) == pytest.approx(641.0, abs=1e-9)
    assert walnut.fret_x_mm(0.0, 3.0) == pytest.approx(0.0, abs=1e-12)


@settings(deadline=None, max_examples=40)
@given(st.floats(600, 700), st.floats(600, 700), st.integers(0, 12), st.floats(1, 6))
def test_fanned_strings_agree_at_the_square_fret(
    walnut: Instrument, bass: float, treble: float, square: int, string: float
) -> None:
    fanned = replace(walnut, scale_bass_mm=bass, scale_treble_mm=treble, square_fret=square)
    middle = 0.5 * (bass + treble)
    at = middle * (1.0 - 2.0 ** (-square / 12.0))
    assert fanned.fret_x_mm(float(square), string) == pytest.approx(at, abs=1e-9)
    # nut to saddle is the string's own scale
    length = fanned.saddle_x_mm(string) - fanned.fret_x_mm(0.0, string)
    assert length == pytest.approx(float(fanned.scale_mm(string)), abs=1e-9)


def test_string_1_is_the_treble_and_lies_at_the_largest_y(walnut: Instrument) -> None:
    fanned = replace(walnut, scale_bass_mm=660.0, scale_treble_mm=635.0)
    assert fanned.scale_mm(np.array([1.0, 6.0])).tolist() == [635.0, 660.0]
    y = walnut.string_y_mm(walnut.string_numbers, 0.0)
    assert np.all(np.diff(y) < 0)
    np.testing.assert_allclose(y, -y[::-1], atol=1e-12)
    np.testing.assert_allclose(-np.diff(y), 7.1)
    np.testing.assert_allclose(-np.diff(walnut.string_y_mm(walnut.string_numbers, 641.0)), 10.4)


def test_one_string(walnut: Instrument) -> None:
    one = replace(walnut, strings=walnut.strings[:1])
    assert one.scale_mm(1.0) == 641.0
    assert one.string_y_mm(1.0, 100.0) == 0.0
