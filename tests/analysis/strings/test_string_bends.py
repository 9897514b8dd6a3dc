"""How far a finger pushes, against the string's length by hand; and which way."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.strings.bends import (
    BEYOND_MM,
    WIDEST_BEND_MM,
    bend_mm,
    bend_sides,
    bent_tension_n,
    pushed_tension_n,
)
from analysis.strings.strings import string_loads


@settings(deadline=None, max_examples=80)
@given(st.floats(0.1, 3.0), st.floats(20.0, 600.0), st.integers(0, 5), st.floats(0.0, 200.0))
def test_a_bend_stretches_to_its_pitch(
    walnut: Instrument, semitones: float, at: float, s: int, beyond: float
) -> None:
    """Two straight parts, their lengths in full, and what slides in from past the ends."""
    load = string_loads(walnut)[s]
    push = float(bend_mm(load, 641.0, np.array([at]), semitones, beyond)[0])
    stretched = np.hypot(at, push) + np.hypot(641.0 - at, push)
    tension = load.tension_n + load.stiffness_n * (stretched - 641.0) / (641.0 + beyond)
    rise = 6.0 * np.log2(tension / load.tension_n)
    if push >= WIDEST_BEND_MM:
        assert rise <= semitones * (1.0 + 1e-6)
    else:
        assert rise == pytest.approx(semitones, rel=1e-6)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.1, 1.5), st.floats(20.0, 600.0))
def test_tension_and_push_are_one_anothers_inverse(
    walnut: Instrument, semitones: float, at: float
) -> None:
    load = string_loads(walnut)[3]
    fret = np.array([at])
    push = bend_mm(load, 641.0, fret, semitones)
    tension = pushed_tension_n(load, 641.0, fret, push)
    most = bent_tension_n(load.tension_n, semitones)
    if push[0] < WIDEST_BEND_MM:
        assert tension[0] == pytest.approx(most, rel=1e-9)
    else:
        assert load.tension_n < tension[0] <= most


def test_the_first_term_of_the_squares_is_little_off(walnut: Instrument) -> None:
    """(h^2/2)(1/a + 1/b) for the stretch: 1.3 % in h over fret 1 at the widest, 0.02 % over 12."""
    load = string_loads(walnut)[0]
    for fret, off in ((1, 0.013), (12, 2e-4)):
        a = float(walnut.fret_x_mm(float(fret), 1.0))
        at, push = np.array([a]), np.array([WIDEST_BEND_MM])
        rise = float(pushed_tension_n(load, 641.0, at, push)[0]) - load.tension_n
        stretch = rise / load.stiffness_n * (641.0 + BEYOND_MM)
        rough = np.sqrt(2.0 * stretch / (1.0 / a + 1.0 / (641.0 - a)))
        assert 1.0 - rough / WIDEST_BEND_MM == pytest.approx(off, rel=0.3)


def test_string_past_the_ends_asks_for_more_push(walnut: Instrument) -> None:
    load, at = string_loads(walnut)[5], np.array([320.0])
    push = [float(bend_mm(load, 641.0, at, 1.0, beyond)[0]) for beyond in (0.0, BEYOND_MM)]
    assert push[1] / push[0] == pytest.approx(np.sqrt(1.0 + BEYOND_MM / 641.0), rel=1e-3)


def test_no_finger_pushes_further(walnut: Instrument) -> None:
    load = string_loads(walnut)[0]
    push = bend_mm(load, 641.0, np.array([30.0, 160.0, 320.0]), 12.0)
    assert push[-1] == WIDEST_BEND_MM
    assert np.all(np.diff(push) >= 0.0)


def test_an_octave_is_four_times_the_tension() -> None:
    assert bent_tension_n(70.0, 12.0) == pytest.approx(280.0)


@pytest.mark.parametrize(
    ("strings", "ways"),
    [
        (4, ["-", "both", "both", "+"]),
        (6, ["-", "-", "both", "both", "+", "+"]),
        (7, ["-", "-", "both", "both", "both", "+", "+"]),
        (12, ["-"] * 4 + ["both"] * 4 + ["+"] * 4),
    ],
)
def test_outer_strings_are_bent_inwards(strings: int, ways: list[str]) -> None:
    said = {(-1,): "-", (1,): "+", (-1, 1): "both"}
    assert [said[bend_sides(s, strings)] for s in range(1, strings + 1)] == ways
