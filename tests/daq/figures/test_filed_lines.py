"""Tops before and after: both lines in scale, over one chord, with bars of twice their doubt."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from analysis.after.laid import LaidOver
from daq.figures.filedlines import filed_lines
from daq.figures.svg import TEXT

from ..drawn import Drawing, drawings_of

JOINT = 14
NUMBER = re.compile(r"-?\d*\.?\d+")


def _laid() -> LaidOver:
    """A neck that lies at a slope, its fifth fret filed by 40 µm, the first by 30."""
    x = 640.0 * (1.0 - 2.0 ** (-np.arange(1, 23) / 12.0))
    before = 3.0 + 0.002 * x - 0.1 * np.sin(np.pi * np.clip((x - x[0]) / (x[13] - x[0]), 0, 1))
    after = before.copy()
    after[4] -= 0.04
    after[0] -= 0.03
    return LaidOver(x, before, np.full(22, 0.002), after, np.full(22, 0.003))


def _drawn(laid: LaidOver) -> Drawing:
    picture = filed_lines(3, laid, JOINT)
    assert picture is not None
    (drawing,) = drawings_of(picture.svg)
    return drawing


def _dots(drawing: Drawing, kind: str) -> list[float]:
    found = drawing.paths(kind)[0].split("M")[1:]
    return [float(NUMBER.findall(one)[1]) for one in found]


def _per_um(drawing: Drawing) -> tuple[float, float]:
    """Where 0 is drawn, and units a µm."""
    marks = {float(t.text): t.bottom - 0.2 * TEXT - 5.0 for t in drawing.texts()
             if t.right < 62.0 and re.fullmatch(r"-?\d+", t.text)}  # fmt: skip
    return marks[0.0], (marks[min(marks)] - marks[0.0]) / -min(marks)


def test_both_lines_stand_over_the_chord_before() -> None:
    drawing = _drawn(_laid())
    zero, per_um = _per_um(drawing)
    before, after = _dots(drawing, "dot-now"), _dots(drawing, "dot-after")
    assert [before[0], before[JOINT - 1]] == pytest.approx([zero, zero], abs=0.1)
    gone = [(b - a) / per_um for a, b in zip(before, after, strict=True)]
    want = [0.0] * 22
    want[0], want[4] = 30.0, 40.0
    assert gone == pytest.approx(want, abs=0.6)


def test_bars_are_twice_the_uncertainty() -> None:
    drawing = _drawn(_laid())
    _, per_um = _per_um(drawing)
    for kind, um in (("bar-now", 2.0), ("whisker", 3.0)):
        first = drawing.paths(kind)[0].split("M")[1]
        assert abs(float(NUMBER.findall(first)[3])) == pytest.approx(4.0 * um * per_um, abs=0.11)


def test_a_top_that_was_not_seen_is_left_out() -> None:
    laid = _laid()
    after = laid.after_mm.copy()
    after[7] = np.nan
    drawing = _drawn(replace(laid, after_mm=after))
    assert len(_dots(drawing, "dot-after")) == 21
    assert "nan" not in "".join(drawing.paths(""))
    before = laid.before_mm.copy()
    before[0] = np.nan
    assert filed_lines(3, replace(laid, before_mm=before), JOINT) is None


def test_words_lie_on_no_others_and_inside() -> None:
    drawing = _drawn(_laid())
    for one, other in combinations(drawing.texts(), 2):
        assert not one.meets(other), (one, other)
    for text in drawing.texts():
        assert 0.0 <= text.left <= text.right <= drawing.size[0]
        assert 0.0 <= text.top <= text.bottom <= drawing.size[1]
