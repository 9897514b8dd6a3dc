"""Drawings of the smallest and the largest necks: everything inside, no words on others."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest

from daq.figures.axes import roomy
from daq.figures.svg import text_width
from daq.report.page import report_html

from .decided_neck import decided, undecided

NECKS = [(6, 22, 0.0), (12, 36, 0.0), (4, 20, 40.0), (12, 12, 0.0), (4, 36, 60.0), (7, 27, 50.0)]
DECISIONS = pytest.mark.parametrize("also", [decided, undecided], ids=["decided", "undecided"])
SIZES = pytest.mark.parametrize("neck", NECKS, ids=str)
MOST_BYTES = 500_000


@SIZES
@DECISIONS
def test_no_words_lie_on_others(
    neck: tuple[int, int, float], also: Any, sized: Any, drawings: Any
) -> None:
    for drawing in drawings(report_html(also(sized(*neck)))):
        for one, other in combinations(drawing.texts(), 2):
            assert not one.meets(other), (drawing.title, one, other)


@SIZES
@DECISIONS
def test_all_words_lie_inside(
    neck: tuple[int, int, float], also: Any, sized: Any, drawings: Any
) -> None:
    for drawing in drawings(report_html(also(sized(*neck)))):
        width, height = drawing.size
        for text in drawing.texts():
            assert text.left >= 0.0, (drawing.title, text)
            assert text.top >= 0.0, (drawing.title, text)
            assert text.right <= width, (drawing.title, text)
            assert text.bottom <= height, (drawing.title, text)


@SIZES
def test_a_report_stays_small(neck: tuple[int, int, float], sized: Any) -> None:
    assert len(report_html(decided(sized(*neck))).encode()) < MOST_BYTES


@SIZES
def test_outer_frets_and_joint_are_always_numbered(
    neck: tuple[int, int, float], sized: Any, one: Any
) -> None:
    given = sized(*neck)
    page = report_html(given)
    for title in ("Off the chord, unstrung", "String 2"):
        words = one(page, title).words()
        for fret in (1, neck[1]):
            assert str(fret) in words
    assert str(given.instrument.body_joint_fret) in one(page, "String 2").words()


def test_numbers_of_frets_keep_their_distance() -> None:
    at = np.cumsum(np.linspace(30.0, 6.0, 36))
    chosen = roomy(at, [1, 20, 36])
    assert {0, 19, 35} <= set(chosen)
    apart = np.diff(at[chosen])
    wide = np.array([text_width(str(n + 1)) for n in chosen])
    assert (apart >= 0.5 * (wide[1:] + wide[:-1])).all()
    # and none is left out that had room
    assert chosen[:5] == [0, 1, 2, 3, 4]
