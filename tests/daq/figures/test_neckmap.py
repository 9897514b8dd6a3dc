"""The board from above: every cell says its own number, is where it belongs, and stays quick."""

from __future__ import annotations

import re
import time
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from analysis.plan.doubts import Hanging, Suspect, Touch
from analysis.plan.target import Held
from daq.figures.neckmap import LAYERS, neck_map
from daq.reading.doubts import DoubtedFret, DoubtedTop, Doubts

from ..drawn import drawings_of

SIZES = [(6, 22), (12, 24), (4, 36)]
EVERY = pytest.mark.parametrize("layer", LAYERS)
BOARDS = pytest.mark.parametrize("board", SIZES, ids=str)


def _cells(svg: str) -> dict[tuple[int, int], ET.Element]:
    """(fret, string) -> its group."""
    return {
        (int(one.attrib["data-fret"]), int(one.attrib["data-string"])): one
        for one in ET.fromstring(svg).iter("g")
        if "data-fret" in one.attrib
    }


def _corner(cell: ET.Element) -> tuple[float, float, float, float]:
    """Left, top, width, height of its ground."""
    found = re.match(r"M([\d.]+) ([\d.]+)h([\d.]+)v([\d.]+)", cell.findall("path")[0].attrib["d"])
    assert found is not None
    return tuple(float(n) for n in found.groups())  # type: ignore[return-value]


def _hatched(cell: ET.Element) -> bool:
    return any("hatch" in one.attrib.get("class", "") for one in cell.findall("path"))


@EVERY
@BOARDS
def test_there_is_a_cell_for_every_fret_of_every_string(
    layer: Any, board: tuple[int, int], viewed: Any
) -> None:
    cells = _cells(neck_map(layer, viewed(*board)).svg)
    frets = range(board[1]) if layer == "room" else range(1, board[1] + 1)
    assert set(cells) == {(f, s) for f in frets for s in range(1, board[0] + 1)}
    for cell in cells.values():
        assert cell.attrib["role"] == "gridcell"
        assert cell.attrib["aria-label"] == cell.findtext("title")


@EVERY
@BOARDS
def test_words_lie_on_no_others_and_inside(layer: Any, board: tuple[int, int], viewed: Any) -> None:
    held = Held(frozenset({3}), frozenset(), frozenset({(5, 2)}))
    (drawing,) = drawings_of(neck_map(layer, viewed(*board, held)).svg)
    for one, other in combinations(drawing.texts(), 2):
        assert not one.meets(other), (one, other)
    for text in drawing.texts():
        assert text.left >= 0.0
        assert text.right <= drawing.size[0], text
        assert text.bottom <= drawing.size[1]


@BOARDS
def test_cells_are_wide_enough_to_be_touched(board: tuple[int, int], viewed: Any) -> None:
    """44 px either way on a page of 1280 px, less its margins; nut on the left, string 1 on top."""
    svg = neck_map("height", viewed(*board)).svg
    (drawing,) = drawings_of(svg)
    cells = _cells(svg)
    px = 1232.0 / drawing.size[0]
    # the air around a ground belongs to its cell
    left, top, wide, tall = _corner(cells[1, 1])
    assert min(wide + 2.0, tall + 2.0) * px >= 44.0
    assert _corner(cells[2, 1])[0] == pytest.approx(left + wide + 2.0)
    assert _corner(cells[1, 2])[1] == pytest.approx(top + tall + 2.0)


def test_more_frets_than_fit_go_on_another_row(viewed: Any) -> None:
    cells = _cells(neck_map("height", viewed(4, 36)).svg)
    assert _corner(cells[19, 1])[0] == _corner(cells[1, 1])[0]
    assert _corner(cells[19, 1])[1] > _corner(cells[18, 4])[1] + 34.0


def test_a_cell_carries_its_own_value(viewed: Any) -> None:
    view = viewed(6, 22)
    heights = _cells(neck_map("height", view).svg)
    assert heights[9, 2].findtext("text") == "1.09"
    assert heights[9, 2].attrib["aria-label"] == "fret 9, string 2: 1.09 ± 0.008 mm high"
    assert heights[4, 2].attrib["aria-label"] == "fret 4, string 2: height not known"
    assert "none" in heights[4, 2].attrib["class"].split()

    remove = np.zeros((22, 6))
    remove[6, 2] = 0.01231
    cuts = _cells(neck_map("cut", replace(view, remove_mm=remove)).svg)
    assert cuts[7, 3].findtext("text") == "12"
    assert "12.4 µm to come off" in cuts[7, 3].attrib["aria-label"]
    others = [cell for at, cell in cuts.items() if at != (7, 3)]
    assert all(cell.findtext("text") is None for cell in others)


def test_room_says_how_much_where_and_how_sure(viewed: Any) -> None:
    cells = _cells(neck_map("room", viewed(6, 22)).svg)
    assert cells[0, 1].attrib["class"] == "cell buzzes"
    assert [t.text for t in cells[0, 1].findall("text")] == ["-12", "!"]
    said = "open, string 1: 0.123 mm short over fret 9: buzzes"
    assert cells[0, 1].attrib["aria-label"] == said
    bent = "fret 1, string 1: 0.001 mm to spare over fret 9, bent: undecided"
    assert cells[1, 1].attrib["aria-label"] == bent
    assert [t.text for t in cells[2, 3].findall("text")] == ["5"]
    assert cells[21, 2].attrib["aria-label"] == "fret 21, string 2: nothing to tell"


def test_what_is_held_back_is_hatched_and_said(viewed: Any) -> None:
    held = Held(frozenset({3}), frozenset({6}), frozenset({(5, 2)}))
    for layer in ("height", "wear", "cut"):
        picture = neck_map(layer, viewed(6, 22, held))
        marked = {at for at, cell in _cells(picture.svg).items() if _hatched(cell)}
        assert marked == {
            (f, s) for f in range(1, 23) for s in range(1, 7)
            if f == 3 or s == 6 or (f, s) == (5, 2)
        }  # fmt: skip
        cells = _cells(picture.svg)
        assert cells[5, 2].attrib["aria-label"].endswith(", held back")
        assert "held back" not in cells[5, 3].attrib["aria-label"]
        assert "held back: not to be cut" in drawings_of(picture.svg)[0].words()
    assert "hatch" not in neck_map("room", viewed(6, 22, held)).svg
    assert "held back" not in neck_map("height", viewed(6, 22)).svg


def test_the_chosen_string_and_where_it_is_held_are_framed(viewed: Any) -> None:
    view = replace(viewed(6, 22), fretted=5)
    (drawing,) = drawings_of(neck_map("room", view).svg)
    cells = _cells(neck_map("room", view).svg)
    (row,) = drawing.paths("chosen-row")
    left, top, _, _ = _corner(cells[0, 2])
    assert row.startswith(f"M{left - 1:g} {top - 1:g}h{22 * 36}v34")
    (cell,) = drawing.paths("chosen-cell")
    left, top, _, _ = _corner(cells[5, 2])
    assert cell.startswith(f"M{left - 1:g} {top - 1:g}h36v34")
    assert "▸ 2" in drawing.words()
    rows = [r for r in drawing.root.iter("g") if r.attrib.get("aria-selected") == "true"]
    assert [next(r.iter("text")).text for r in rows] == ["▸ 2"]
    # elsewhere a column is a fret and no place to hold the string at
    assert drawings_of(neck_map("height", view).svg)[0].paths("chosen-cell") == []


def test_doubtful_tops_and_frets_are_marked(viewed: Any) -> None:
    none = Touch(float("inf"))
    hanging = Hanging(7, 3, 0.02, 0.003, none, none, 0.0)
    doubts = Doubts(
        frets=(DoubtedFret(9, "loose", (hanging,)),),
        tops=(DoubtedTop(Suspect(7, 3, "inferred"), hanging),),
    )
    svg = neck_map("cut", replace(viewed(6, 22), doubts=doubts)).svg
    marked = [at for at, cell in _cells(svg).items()
              if "?" in [t.text for t in cell.findall("text")]]  # fmt: skip
    assert marked == [(7, 3)]
    assert _cells(svg)[7, 3].attrib["aria-label"].endswith(", a top in doubt")
    assert {"9~", "? a top in doubt"} <= set(drawings_of(svg)[0].words())


def test_wear_without_a_scan_that_shows_it(viewed: Any) -> None:
    view = replace(viewed(6, 22), wear=None, room=None)
    for layer in ("wear", "room"):
        cells = _cells(neck_map(layer, view).svg)
        assert len(cells) == 22 * 6
        assert cells[1, 1].attrib["aria-label"] == "fret 1, string 1: not known"


def test_wear_says_its_numbers(viewed: Any) -> None:
    cells = _cells(neck_map("wear", viewed(6, 22)).svg)
    said = "a small flat: leave, dent 21 ± 4 µm, flat 0.60 mm wide"
    assert cells[1, 2].attrib["aria-label"] == f"fret 1, string 2: {said}"


@EVERY
def test_a_map_of_twelve_strings_takes_no_time(layer: Any, viewed: Any) -> None:
    """Processor time, the best of a few: 6 ms is what a moved control may spend on it."""
    view = viewed(12, 24, Held(frozenset({3}), frozenset(), frozenset()))
    took = []
    for _ in range(8):
        began = time.process_time()
        neck_map(layer, view)
        took.append(time.process_time() - began)
    assert min(took) < 6e-3
