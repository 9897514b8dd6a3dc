"""What boards print, as bytes, and the records that come of it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.wire.commands import Move
from daq.wire.dialects import dialect_of
from daq.wire.gcode.axes import Axes, Axis, plain
from daq.wire.records import ABSENT, Event, Reply

SETTINGS: dict[str, Any] = {
    "mm_per_count": 0.005,
    "cross_mm_per_count": -0.01,
    "own_mm_s": 25.0,
    "query": "M114",
    "position": "X:{x} Y:{y} {any}",
    "home": "G28 X0 Y0",
    "halt": "M410",
    "x_axis": "X",
    "y_axis": "Y",
    "home_mm": [0.0, 0.0],
    "accepted": "ok",
    "refused": "error",
    "alarm": "!!",
    "greeting": "start",
    "chatter": ["echo:"],
    "start": ["G21", "G90"],
    "most_hz": 50.0,
}
PIECES = [
    b"X:10.25 Y:-3.5 Z:0.00 E:0.00 Count X:1025\r\n",
    b"X:0 Y:.5\n",
    b"ok\n",
    b"ok T:20 X:1 Y:2\n",
    b"Error: no such thing\r\n",
    b"!! stuck\n",
    b"start\r\n",
    b"echo:busy\n",
    b"\r\n",
    b"X:1.0.0 Y:2\n",
    b"X:99999999999 Y:0\n",
    b"starting up\n",
    b"\xff\x00rubbish\n",
    b"z" * 3000 + b"\n",
]


def of(**changed: Any) -> Any:
    return dialect_of("gcode", {**SETTINGS, **changed})


def table(samples: Any) -> list[tuple[int, int, int]]:
    return list(zip(samples.seq.tolist(), samples.x.tolist(), samples.y.tolist(), strict=True))


def test_places_become_counts() -> None:
    text = b"X:10.25 Y:-3.50 Z:0.00 E:0.00 Count X:1025 Y:-350\r\nok\r\nX:10.26 Y:-3.5 Z:0\n"
    batch = of().decoder().feed(text)

    assert table(batch.samples) == [(0, 2050, -350), (1, 2052, -350)]
    assert set(batch.samples.raw) == set(batch.samples.temp) == {ABSENT}
    assert batch.replies == (Reply("A", ("",), 1),)
    assert (batch.bad_frames, batch.whole_after.tolist()) == (0, [51, len(text)])


def test_a_place_between_brackets() -> None:
    framed = of(position="<{any}|MPos:{x},{y},{any}", home_mm=[-300.0, -2.0])
    batch = framed.decoder().feed(b"<Run|MPos:-299.000,-1.000,0.000|FS:1500,0>\r\n")

    assert table(batch.samples) == [(0, 200, 100)]


def test_a_board_that_drives_nothing_across() -> None:
    batch = of(cross_mm_per_count=None, position="X:{x} {any}").decoder().feed(b"X:1 Y:7\n")

    assert table(batch.samples) == [(0, 200, ABSENT)]


def test_an_ok_may_stand_before_the_place() -> None:
    batch = of(position="ok X:{x} Y:{y}").decoder().feed(b"ok X:1 Y:2\n")

    assert table(batch.samples) == [(0, 200, 200)]
    assert batch.replies == (Reply("A", ("",), 1),)


def test_words_of_boards() -> None:
    text = b"start\nERROR:20\nerror: it cannot\nokay\n!! stuck at 3\necho:busy\nrestart\n"
    batch = of().decoder().feed(text)

    assert batch.events == (Event(0, "reset", "start", 0), Event(0, "stalled", "!! stuck at 3", 0))
    refused = [reply.fields[1] for reply in batch.replies if reply.kind == "N"]
    assert refused == ["ERROR:20", "error: it cannot"]
    assert (batch.bad_frames, batch.bad_example) == (2, b"okay")


def test_no_line_end_no_place() -> None:
    decoder = of().decoder()
    assert not len(decoder.feed(b"X:10.25 Y:-3").samples)
    assert table(decoder.feed(b".5\n").samples) == [(0, 2050, -350)]


def test_the_first_line_may_have_lost_its_beginning() -> None:
    batch = of(position="{x} {y}").decoder(skip_first=True).feed(b"2.5 1.0\n12.5 1.0\n")
    assert table(batch.samples) == [(0, 2500, 100)]


@given(st.lists(st.sampled_from(PIECES) | st.binary(max_size=30), max_size=20), st.data())
def test_however_it_is_cut_it_is_the_same(pieces: list[bytes], data: st.DataObject) -> None:
    text = b"".join(pieces)
    whole = of().decoder().feed(text)
    cuts = sorted(data.draw(st.lists(st.integers(0, len(text)), max_size=8)))
    decoder = of().decoder()
    parts = [
        (start, decoder.feed(text[start:end]))
        for start, end in zip([0, *cuts], [*cuts, len(text)], strict=True)
    ]

    assert [row for _, part in parts for row in table(part.samples)] == table(whole.samples)
    assert tuple(e for _, part in parts for e in part.events) == whole.events
    assert tuple(r for _, part in parts for r in part.replies) == whole.replies
    assert sum(part.bad_frames for _, part in parts) == whole.bad_frames
    ends = np.concatenate([part.whole_after + start for start, part in parts])
    assert ends.tolist() == whole.whole_after.tolist()


@pytest.mark.parametrize(
    ("changed", "error"),
    [({"position": "X:{x}"}, ValueError), ({"halts": "!"}, TypeError)],
)
def test_settings_that_are_none_of_its_own(changed: dict[str, str], error: type) -> None:
    with pytest.raises(error):
        of(**changed)


AXES = Axes(Axis("X", 0.005, 0.0), Axis("Y", 0.01, 0.0))


@pytest.mark.parametrize(
    ("move", "start", "line"),
    [
        (Move(2000, None, 5000), (0, 0), "G1 X10 F1500"),
        (Move(None, -250, 5000), (0, 0), "G1 Y-2.5 F1500"),
        # 30 mm along and 40 mm across: x is to do 3/4 of the 25 mm/s that y does
        (Move(6000, 4000, 5000), (0, 0), "G1 X30 Y40 F1875"),
        # 40 along, 30 across: x at 25 mm/s is 31.25 mm/s along the path of 50 mm
        (Move(8000, 3000, 5000), (0, 0), "G1 X40 Y30 F1875"),
        (Move(2001, 0, None), (0, 0), "G1 X10.005 Y0 F600"),
        (Move(2000, 0, 5000), None, "G1 X10 Y0 F1500"),
        (Move(2000, 0, 5000), (2000, 0), "G1 X10 Y0 F1500"),
    ],
)
def test_a_move_as_a_line(move: Move, start: Any, line: str) -> None:
    assert AXES.move(move, start, 10.0) == line


@given(st.floats(-5000, 5000))
def test_numbers_have_no_exponent_and_four_decimals(number: float) -> None:
    text = plain(number)
    assert set(text) <= set("-0123456789.")
    assert abs(float(text) - number) <= 0.5e-4 + 1e-9
    assert plain(-1e-9) == "0"
