"""What each picture of the neck shows: the right thing, in the right place, in units."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.wear.wear import VERDICTS as KNOWN_VERDICTS
from daq.figures.chord import off_chord_um, off_neighbours_um
from daq.figures.notes import Box, Note, text_box, written
from daq.figures.overhead import half_width_mm
from daq.figures.palette import DIVERGING, SIDES
from daq.figures.scale import FINEST_UM, step_for, steps_of
from daq.figures.svg import line_through
from daq.figures.wearmap import FULL_MM, SIGNS, VERDICTS
from daq.report.page import report_html

POINT = re.compile(r"^M(-?[\d.]+) ?(-?[\d.]+)")


def _start(path: str) -> tuple[float, float]:
    found = POINT.match(path)
    assert found is not None
    return float(found[1]), float(found[2])


def _parts(paths: list[str]) -> list[str]:
    return ["M" + part for path in paths for part in path.split("M")[1:]]


@pytest.fixture
def page(sized: Any) -> str:
    return report_html(sized(6, 22))


AXES = {
    "Off the chord": ("from the nut, mm", "across, mm", "µm over the chord"),
    "Off the neighbours": ("from the nut, mm", "across, mm", "µm over the neighbours"),
    "String": ("from the nut, mm", "height over the chord, µm"),
    "Radius of each fret": ("from the nut, mm", "radius, mm"),
    "Turn of the section": ("from the nut, mm", "turn from the nut, mrad"),
}


def test_every_chart_says_its_units(page: str, drawings: Any) -> None:
    seen = set()
    for drawing in drawings(page):
        for title, units in AXES.items():
            if drawing.title.startswith(title):
                seen.add(title)
                assert set(units) <= set(drawing.words()), drawing.title
    assert seen == set(AXES)


def test_every_map_of_cells_says_its_unit(page: str, drawings: Any) -> None:
    maps = [d for d in drawings(page) if not d.title.startswith(tuple(AXES))]
    assert len(maps) == 5
    for drawing in maps:
        said = " ".join([drawing.title, *drawing.words(), drawing.root.findtext("desc") or ""])
        assert re.search(r"\bmm\b|µm|millimetre", said), drawing.title


def test_off_chord(six: Instrument, plain_shape: Any) -> None:
    shape = plain_shape(six, relief_mm=0.1, bumps={(9, 3): 0.04})
    off = off_chord_um(shape, six.body_joint_fret)
    assert off[0] == pytest.approx(0.0, abs=1e-9)
    assert off[six.body_joint_fret - 1] == pytest.approx(0.0, abs=1e-9)
    plain = off_chord_um(plain_shape(six, relief_mm=0.1), six.body_joint_fret)
    assert off[8, 2] - plain[8, 2] == pytest.approx(40.0)
    assert np.nanmin(plain) == pytest.approx(-100.0, abs=2.0)


def test_off_neighbours_forgets_any_straight_line(six: Instrument, plain_shape: Any) -> None:
    shape = plain_shape(six, relief_mm=0.0, bumps={(9, 3): 0.04})
    sloped = replace(shape, top_mm=shape.top_mm + 0.5 + 0.003 * shape.x_mm)
    off = off_neighbours_um(sloped)
    plain = off_neighbours_um(plain_shape(six, relief_mm=0.0))
    difference = off - plain
    assert difference[8, 2] == pytest.approx(40.0)
    # the line through frets 8 and 10, and those through 9 and the next but one
    x = shape.x_mm[:, 2]
    assert difference[7, 2] == pytest.approx(-40.0 * (x[7] - x[6]) / (x[8] - x[6]))
    assert np.isnan(off[[0, -1]]).all()


@drawn(st.floats(0.0, 5e4))
def test_the_scale_holds_the_largest_and_is_no_wider_than_need_be(most: float) -> None:
    step = step_for(most)
    assert (SIDES + 0.5) * step >= most * (1.0 - 1e-9)
    assert step == FINEST_UM or step <= 2.0 * most / (SIDES + 0.5) * (1.0 + 1e-9)


def test_steps() -> None:
    values = np.array([0.0, 4.9, -5.1, 44.0, -300.0, np.nan])
    assert steps_of(values, 10.0).tolist()[:5] == [0.0, 0.0, -1.0, 4.0, -4.0]
    assert np.isnan(steps_of(values, 10.0)[5])


def test_map_puts_frets_where_they_are(sized: Any, one: Any) -> None:
    """Numbers of the x axis give the drawing's scale; frets' numbers must agree with it."""
    given = sized(6, 22)
    texts = one(report_html(given), "Off the chord, strung").texts()
    middle = {t.text: 0.5 * (t.left + t.right) for t in texts}
    foot = max(t.bottom for t in texts if t.text == "400")
    axis = {t.text: 0.5 * (t.left + t.right) for t in texts if abs(t.bottom - foot) < 1.0}
    per_mm = (axis["400"] - axis["100"]) / 300.0
    heads = [t for t in texts if t.bottom < 60.0 and t.text.isdigit()]
    assert len(heads) > 15
    for head in heads:
        x = float(given.instrument.fret_x_mm(int(head.text), 0.5))
        drawn_x = axis["100"] + (x - 100.0) * per_mm
        assert 0.5 * (head.left + head.right) == pytest.approx(drawn_x, abs=0.2)
    assert middle["nut"] == pytest.approx(axis["100"] - 100.0 * per_mm, abs=0.2)


def test_map_shows_height_by_sign_and_not_by_colour_alone(sized: Any, one: Any) -> None:
    """Every tile off zero has a triangle, up or down, larger the further off."""
    given = sized(6, 22)
    drawing = one(report_html(given), "Off the chord, strung")
    off = off_chord_um(given.strung, given.instrument.body_joint_fret)
    states = [off, off_chord_um(given.unstrung, given.instrument.body_joint_fret)]
    steps = steps_of(off, step_for(float(np.nanmax(np.abs(states)))))
    sizes = []
    for name, level in zip(DIVERGING, range(-SIDES, SIDES + 1), strict=True):
        # one more of each is in the legend
        tiles = _parts(drawing.paths(name))
        assert len(tiles) == np.count_nonzero(steps == level) + 1
        if level == 0:
            continue
        signs = _parts(drawing.paths(f"on-{name}"))
        assert len(signs) == len(tiles)
        tip = float(re.findall(r"-?[\d.]+", signs[0].split("l")[1])[3])
        assert np.sign(tip) == -np.sign(level)
        sizes.append(abs(tip))
    assert sizes == pytest.approx(sizes[::-1])
    assert sorted(sizes[:SIDES], reverse=True) == sizes[:SIDES]
    assert len(_parts(drawing.paths("blank"))) == 1


def test_board_is_drawn_as_wide_as_it_is(six: Instrument) -> None:
    assert half_width_mm(six, 0.0) == pytest.approx(21.4)
    last = float(six.fret_x_mm(22, 3.5))
    assert half_width_mm(six, last) == pytest.approx(28.2)


def test_profile_says_relief_fall_away_chord_and_humps(page: str, one: Any) -> None:
    drawing = one(page, "String 3")
    words = drawing.words()
    assert "chord, fret 1 to 14" in words
    assert sum("relief" in w and "±" in w for w in words) == 2
    assert "strung: falls away 0.045 ± 0.008 mm" in words
    assert "unstrung: falls away 0.045 ± 0.008 mm" in words
    assert "fret 9: +41 µm" in words
    assert "frets 3 to 5: -20 µm" in words
    assert len(_parts(drawing.paths("sign"))) == 2
    assert "relief" in (drawing.root.findtext("desc") or "")


def test_profile_states_differ_by_more_than_colour(page: str, one: Any) -> None:
    """Dots of one are hollow, its line is dashed by the style sheet."""
    drawing = one(page, "String 3")
    assert len(drawing.paths("hole")) == 1
    assert drawing.paths("hole") == drawing.paths("dot-unstrung")
    assert re.search(r"svg \.line-unstrung \{ stroke-dasharray", page)


def test_profile_without_along(sized: Any, one: Any) -> None:
    drawing = one(report_html(replace(sized(6, 22), along={})), "String 3")
    assert not any("falls away" in word for word in drawing.words())
    assert drawing.paths("sign") == []


def test_a_string_without_its_chord_says_so(sized: Any, one: Any) -> None:
    given = sized(6, 22)
    strung, unstrung = given.strung.top_mm.copy(), given.unstrung.top_mm.copy()
    strung[0, 2] = unstrung[0, 2] = np.nan
    given = replace(given, along={}, strung=replace(given.strung, top_mm=strung),
                    unstrung=replace(given.unstrung, top_mm=unstrung))  # fmt: skip
    drawing = one(report_html(given), "String 3")
    assert "the chord is not known: fret 1 or fret 14 was not seen" in drawing.words()
    assert drawing.paths("dot-strung") == []


def test_bars_are_twice_the_uncertainty_either_way(sized: Any, one: Any) -> None:
    given = sized(6, 22)
    strung = replace(given.strung, u_top_mm=np.full((22, 6), 0.005))
    drawing = one(report_html(replace(given, strung=strung)), "String 1")
    axis = {t.text: t.bottom for t in drawing.texts() if t.right < 62.0}
    per_um = (axis["-150"] - axis["0"]) / 150.0
    bars = [part for part in _parts(drawing.paths("bar-strung")) if "l0" in part]
    assert len(bars) == 22
    for bar in bars:
        assert abs(float(bar.split("l0")[1])) == pytest.approx(20.0 * per_um, abs=0.11)


def test_wear_signs_differ_and_every_verdict_has_words(page: str, one: Any) -> None:
    drawing = one(page, "Wear")
    words = drawing.words()
    signs = set()
    for verdict, (ground, said) in VERDICTS.items():
        assert said in words
        assert drawing.paths(ground) or verdict == "not known"
        signs.add(SIGNS[verdict])
    assert len(signs) == len(VERDICTS)
    assert set(VERDICTS) == set(KNOWN_VERDICTS)
    assert "21" in words
    assert "?" in words
    assert any("flat 0.5 mm wide" in word for word in words)


def test_flats_are_drawn_in_scale(sized: Any, one: Any) -> None:
    given = sized(6, 22)
    flat = np.zeros((22, 6))
    flat[0, 0], flat[1, 0], flat[2, 0] = 0.3, 0.6, 5.0
    wear = replace(given.wear, flat_mm=flat, verdict=np.full((22, 6), "crown"))
    given = replace(given, wear=wear)
    bars = _parts(one(report_html(given), "Wear").paths("on-crown"))
    wide = [float(re.search(r"h([\d.]+)v3\.5h", bar)[1]) for bar in bars if "v3.5h" in bar]  # type: ignore[index]
    assert wide[1] == pytest.approx(2.0 * wide[0], abs=0.11)
    assert wide[2] == pytest.approx(wide[0] * FULL_MM / 0.3, abs=0.3)


def test_radius_flatter_than_the_drawing_is_told_by_an_arrow(page: str, one: Any) -> None:
    drawing = one(page, "Radius")
    assert len(_parts(drawing.paths("sign"))) == 1
    assert len(_parts(drawing.paths("dot-fret"))) == 21
    assert "board, measured: 239 to 357 mm" in drawing.words()
    assert "file: 241 to 355 mm" in drawing.words()


def test_flat_board_is_called_flat(sized: Any, one: Any) -> None:
    given = sized(6, 22)
    flat = replace(given.across, form="flat", board_radius_mm=(np.inf, np.inf),
                   u_board_radius_mm=(np.nan, np.nan))  # fmt: skip
    given = replace(given, across=flat)
    assert "board, measured: flat" in one(report_html(given), "Radius").words()


def test_board_of_unknown_radius_is_not_called_flat(sized: Any, one: Any) -> None:
    given = sized(6, 22)
    given = replace(given, across=replace(given.across, board_radius_mm=(np.nan, np.nan)))
    assert "board, measured: not known" in one(report_html(given), "Radius").words()


def test_turn_is_told_at_the_joint(page: str, one: Any) -> None:
    words = one(page, "Turn").words()
    assert sum("mrad at the joint" in word for word in words) == 2


def test_sections_without_records_are_left_out(sized: Any, drawings: Any) -> None:
    given = replace(sized(6, 22), wear=None, across=None, along={}, arcs={})
    titles = [drawing.title for drawing in drawings(report_html(given))]
    assert not any(title.startswith(("Wear", "Radius", "Turn")) for title in titles)


def test_nothing_known_is_still_drawn(sized: Any, drawings: Any) -> None:
    given = sized(6, 22)
    nothing = np.full((22, 6), np.nan)

    def blind(shape: Shape) -> Shape:
        return replace(shape, top_mm=nothing, height_mm=nothing, u_top_mm=nothing)

    page = report_html(replace(given, strung=blind(given.strung), unstrung=blind(given.unstrung)))
    assert all("nan" not in str(d.paths("")) for d in drawings(page))


@drawn(st.lists(st.tuples(st.floats(60, 880), st.floats(45, 225)), max_size=14))
def test_notes_never_lie_on_one_another(places: list[tuple[float, float]]) -> None:
    area = Box(60.0, 41.0, 884.0, 229.0)
    notes = [Note(f"place {n}: 0.123 mm", x, y) for n, (x, y) in enumerate(places)]
    html = written(notes, area, np.empty((0, 2)))
    found = re.findall(r'<text x="([-\d.]+)" y="([-\d.]+)"[^>]*>([^<]*)', html)
    boxes = [text_box(text, float(x), float(y)) for x, y, text in found]
    for i, box in enumerate(boxes):
        assert box.left >= area.left - 0.1
        assert box.right <= area.right + 0.1
        assert not any(_overlap(box, other) > 0.11 for other in boxes[:i])
    # as few as these always find room
    assert len(found) == len(places) or len(places) > 8


def _overlap(one: Box, other: Box) -> float:
    wide = min(one.right, other.right) - max(one.left, other.left)
    tall = min(one.bottom, other.bottom) - max(one.top, other.top)
    return min(wide, tall)


@drawn(st.lists(st.tuples(st.floats(-900, 900), st.floats(-900, 900)), min_size=1, max_size=30))
def test_a_line_ends_where_it_should(points: list[tuple[float, float]]) -> None:
    """Steps are rounded so that they do not add up to an error."""
    numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", line_through(points))]
    x, y = sum(numbers[0::2]), sum(numbers[1::2])
    assert (x, y) == pytest.approx(points[-1], abs=0.051)
