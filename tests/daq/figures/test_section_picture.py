"""One string from the side: lengths on the picture are the numbers they stand for."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from analysis.plan.section import Section
from daq.figures.section import section_picture
from daq.figures.sidelines import side_lines
from daq.figures.svg import TEXT

from ..drawn import Drawing, drawings_of
from .conftest import U_MM

JOINT = 14
SIZES = [(22, ()), (24, (1, 9)), (36, (5, 14, 36)), (12, (2,))]
NECKS = pytest.mark.parametrize("neck", SIZES, ids=str)
NUMBER = re.compile(r"-?\d*\.?\d+")


def _drawn(section: Section, **asked: Any) -> Drawing:
    joint = min(JOINT, section.x_mm.size)
    (drawing,) = drawings_of(section_picture(section, joint, **asked).svg)
    return drawing


def _starts(paths: list[str]) -> list[tuple[float, float]]:
    parts = [part for path in paths for part in path.split("M")[1:]]
    return [tuple(float(n) for n in NUMBER.findall(part)[:2]) for part in parts]  # type: ignore[misc]


def _lower_axis(drawing: Drawing) -> tuple[float, float]:
    """Where 0 of the tops' field is drawn, and how many units a µm is."""
    top = next(t.bottom for t in drawing.texts() if t.text.startswith("its tops"))
    marks = {float(t.text): t.bottom - 0.2 * TEXT - 5.0 for t in drawing.texts()
             if t.right < 62.0 and t.top > top and re.fullmatch(r"-?\d+", t.text)}  # fmt: skip
    low, high = min(marks), max(marks)
    per_um = (marks[low] - marks[high]) / (high - low)
    return marks[low] + low * per_um, per_um


@NECKS
@pytest.mark.parametrize("asked", [{}, {"near": True}, {"frets": (4, 9)}], ids=str)
def test_words_lie_on_no_others_and_inside(neck: Any, asked: Any, sided: Any) -> None:
    frets, unseen = neck
    for cut in (True, False):
        drawing = _drawn(sided(frets, cut=cut, unseen=unseen, asked=(3, 10)), **asked)
        for one, other in combinations(drawing.texts(), 2):
            assert not one.meets(other), (one, other)
        for text in drawing.texts():
            assert 0.0 <= text.left <= text.right <= drawing.size[0], text
            assert text.bottom <= drawing.size[1]
        assert "nan" not in "".join(drawing.paths(""))


def test_a_bar_is_twice_the_uncertainty_either_way(sided: Any) -> None:
    drawing = _drawn(sided(22))
    _, per_um = _lower_axis(drawing)
    bars = [float(NUMBER.findall(part)[3]) for part in drawing.paths("bar-now")[0].split("M")[1:]]
    assert len(bars) == 22
    for bar in bars:
        assert abs(bar) == pytest.approx(4.0 * 1e3 * U_MM * per_um, abs=0.11)


def test_tops_stand_where_they_were_measured_to_be(sided: Any) -> None:
    section = sided(22, unseen=(7,))
    drawing = _drawn(section)
    zero, per_um = _lower_axis(drawing)
    over = 1e3 * side_lines(section, (1, JOINT)).top_mm
    dots = _starts(drawing.paths("dot-now"))[:21]
    seen = over[np.isfinite(over)]
    assert [y for _, y in dots] == pytest.approx(zero - per_um * seen, abs=0.15)
    assert seen[0] == pytest.approx(0.0, abs=1e-9)
    assert over[JOINT - 1] == pytest.approx(0.0, abs=1e-9)


def test_what_is_filed_off_is_as_high_as_the_heights_are_and_told(sided: Any) -> None:
    drawing = _drawn(sided(22))
    _, per_um = _lower_axis(drawing)
    (removed, _) = drawing.paths("removed")  # the other is in the key
    assert float(re.search(r"v([\d.]+)h", removed)[1]) == pytest.approx(40.0 * per_um, abs=0.11)  # type: ignore[index]
    assert "40" in drawing.words()
    assert "filed off, µm" in drawing.words()


def test_a_neck_that_stays_as_it_is_has_no_after(sided: Any) -> None:
    drawing = _drawn(sided(22, cut=False))
    for kind in ("line-after", "dot-after", "removed", "open-was"):
        assert drawing.paths(kind) == []
    assert not any(word.startswith("after") for word in drawing.words())
    assert drawing.paths("swing")


def test_heights_say_how_much_larger_they_are_drawn(sided: Any) -> None:
    """Frets 1 and 12, and the axis of the tops, tell both scales."""
    section = sided(22)
    drawing = _drawn(section)
    _, per_um = _lower_axis(drawing)
    dots = _starts(drawing.paths("dot-now"))
    per_mm = (dots[11][0] - dots[0][0]) / (section.x_mm[11] - section.x_mm[0])
    said = next(w for w in drawing.words() if w.startswith("its tops"))
    assert "over the line through frets 1 and 14" in said
    told = float(re.search(r"heights (\d+) times", said)[1])  # type: ignore[index]
    assert told == pytest.approx(1e3 * per_um / per_mm, rel=0.05)


def test_the_shape_asked_for_runs_between_its_two_anchors(sided: Any) -> None:
    drawing = _drawn(sided(22, asked=(3, 10)))
    zero, _ = _lower_axis(drawing)
    # it is straight, and heights are measured from the line through its anchors
    line = drawing.paths("asked")[0]
    heights = [float(n) for n in NUMBER.findall(line)]
    assert heights[1] == pytest.approx(zero, abs=0.15)
    assert sum(heights[3::2]) == pytest.approx(0.0, abs=0.15)
    dots = _starts(drawing.paths("dot-now"))
    anchors = _starts([drawing.paths("anchor")[0]])
    assert [x + 6.0 for x, _ in anchors] == pytest.approx([dots[2][0], dots[9][0]], abs=0.11)
    assert "shape asked for" in drawing.words()
    assert _drawn(sided(22)).paths("asked") == []


def test_the_string_is_drawn_down_to_its_swing_and_cut_off_at_the_field(sided: Any) -> None:
    """Held at fret 2 it starts at that fret's top."""
    section = sided(22, cut=False)
    drawing = _drawn(section)
    zero, per_um = _lower_axis(drawing)
    over = 1e3 * side_lines(section, (1, JOINT)).top_mm
    upper, lower = drawing.paths("string")
    x, y = _starts([lower])[0]
    assert (x, y) == pytest.approx(
        (_starts(drawing.paths("dot-now"))[1][0], zero - per_um * over[1]), abs=0.15
    )
    edge = next(t.bottom for t in drawing.texts() if t.text.startswith("its tops"))
    numbers = [float(n) for n in NUMBER.findall(lower)]
    assert edge < numbers[1] + sum(numbers[3::2]) < y
    assert upper != lower


def test_a_stretch_of_frets_is_drawn_larger_over_its_own_line(sided: Any) -> None:
    whole, part = _drawn(sided(22)), _drawn(sided(22), frets=(4, 9))
    assert _lower_axis(part)[1] > 1.5 * _lower_axis(whole)[1]
    assert len(_starts([part.paths("dot-now")[0]])) == 6
    assert any("frets 4 and 9" in word for word in part.words())
    # where it lies is shaded on the whole string
    assert len(part.paths("past")) == 1
    assert whole.paths("past") == []


def test_one_fret_alone_can_be_looked_at(sided: Any) -> None:
    drawing = _drawn(sided(22), frets=(5, 5))
    assert len(_starts([drawing.paths("dot-now")[0]])) == 1


def test_from_close_by_every_fret_has_its_bar(sided: Any) -> None:
    section = sided(22)
    drawing = _drawn(section, near=True)
    at = {t.text: t.bottom for t in drawing.texts() if re.fullmatch(r"-?\d(\.\d+)?", t.text)
          and t.right < 62.0}  # fmt: skip
    lowest = min(at, key=float)
    per_mm = (at[lowest] - at["0"]) / -float(lowest)
    bars = drawing.paths("whisker")[0].split("M")[1:]
    first = float(NUMBER.findall(bars[0])[3])
    assert abs(first) == pytest.approx(4.0 * 0.005 * per_mm, abs=0.15)


def test_from_close_by_a_stretch_away_from_the_finger_leaves_it_out(sided: Any) -> None:
    words = _drawn(sided(22), near=True, frets=(8, 12)).words()
    assert {"8", "9", "10", "11", "12"} <= set(words)
    assert not {"2", "3", "7", "13"} & set(words)
    assert {"2", "3", "4"} <= set(_drawn(sided(22), near=True, frets=(1, 4)).words())


def test_an_open_string_starts_at_the_nut(sided: Any) -> None:
    drawing = _drawn(sided(22, fretted=0), near=True)
    assert "nut" in drawing.words()
    assert drawing.title == "String 2 open, from close by"


def test_a_string_with_no_margin_there_is_still_drawn(sided: Any) -> None:
    section = replace(sided(22), tight=None)
    for near in (False, True):
        drawing = _drawn(section, near=near)
        assert drawing.title == "String 2, nut to saddle"
        assert "it has nothing under it there that it could touch" in drawing.words()
        assert drawing.paths("swing") == []


def test_a_string_whose_tops_nobody_saw(sided: Any) -> None:
    drawing = _drawn(sided(22, unseen=range(1, 23)))
    assert not any("nan" in path for path in drawing.paths(""))
    assert any("no top was seen" in word for word in drawing.words())


@pytest.mark.parametrize("asked", [{}, {"near": True}, {"frets": (4, 9)}], ids=str)
def test_a_section_takes_no_time(asked: Any, sided: Any) -> None:
    """Processor time, the best of a few: 6 ms is what a moved control may spend on it."""
    section = sided(24, asked=(1, 12))
    took = []
    for _ in range(8):
        began = time.process_time()
        section_picture(section, JOINT, **asked)
        took.append(time.process_time() - began)
    assert min(took) < 6e-3
