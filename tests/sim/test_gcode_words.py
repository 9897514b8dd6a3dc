"""The simulated board's reading of RS-274, by examples of the standard's own grammar."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.gcode_modes import Go, Home, Modes, Wait
from sim.gcode_words import BadLine, parse_block
from sim.rigspec import RigSpec


@pytest.mark.parametrize(
    ("line", "codes", "numbers"),
    [
        ("G1 X10 F1500", ("G1",), {"X": 10.0, "F": 1500.0}),
        # blanks mean nothing and letters may be small: the standard's own example
        ("g0x +0. 12 34y 7", ("G0",), {"X": 0.1234, "Y": 7.0}),
        ("N100 G21 G90", ("G21", "G90"), {}),
        ("/G4 P0 (wait) ; for all", ("G4",), {"P": 0.0}),
        ("(nothing)", (), {}),
        ("", (), {}),
        ("G01 X-.5", ("G1",), {"X": -0.5}),
        # there are no exponents: E is a word
        ("G1 X1e3", ("G1",), {"X": 1.0, "E": 3.0}),
    ],
)
def test_lines(line: str, codes: tuple[str, ...], numbers: dict[str, float]) -> None:
    block = parse_block(line)
    assert (block.codes, block.numbers) == (codes, numbers)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("G1 X", "a letter and a number at X"),
        ("G1 X1 X2", "X stands twice"),
        ("G0 G1 X1", "two words of one modal group: motion"),
        ("G90 G91", "two words of one modal group: distance"),
        ("G7", "unknown code G7"),
        ("G1 X1 (half", "a comment is not closed"),
        ("G1 X1 *71", "checksums are not taken"),
        ("G1 X" + "1" * 300, "longer than 256"),
    ],
)
def test_lines_that_are_none(line: str, why: str) -> None:
    with pytest.raises(BadLine, match=why):
        parse_block(line)


@given(st.text(max_size=40))
def test_no_line_makes_it_fall(line: str) -> None:
    modes = Modes(RigSpec())
    with suppress(BadLine):
        modes.obey(parse_block(line), (1.0, 2.0))


def obeyed(*lines: str, here: tuple[float, float] = (10.0, 0.0)) -> object:
    modes = Modes(RigSpec())
    done: object = None
    for line in lines:
        done = modes.obey(parse_block(line), here)
    return done


def test_modes_stay_until_they_are_changed() -> None:
    assert obeyed("G21 G90 G1 X20 F1500") == Go((20.0, 0.0), 25.0)
    assert obeyed("G1 F1500 X1", "X30") == Go((30.0, 0.0), 25.0)
    assert obeyed("G91", "G1 X5 F600") == Go((15.0, 0.0), 10.0)
    assert obeyed("G20 G1 X1 F60") == Go((25.4, 0.0), 25.4)
    assert obeyed("G92 X0", "G1 X5 F60") == Go((15.0, 0.0), 1.0)
    assert obeyed("G0 X20") == Go((20.0, 0.0), 100.0)
    assert obeyed("G4 P1.5") == Wait(1.5)
    assert obeyed("G28 X0 Y0") == Home()


def test_a_feed_is_along_the_path() -> None:
    go = obeyed("G1 X40 Y30 F3000", here=(0.0, 0.0))
    assert go == Go((40.0, 30.0), pytest.approx(40.0))  # 50 mm/s along 50 mm, 40 of them in x


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("X5", "without G0 or G1"),
        ("G1 X5", "without a feed rate"),
        ("G1 X700 F60", "X700 is outside 0 to 640"),
        ("G1 X5 F0", "not above 0"),
        ("G4 P-1", "below 0"),
        ("M600", "unknown code M600"),
    ],
)
def test_what_cannot_be_done(line: str, why: str) -> None:
    with pytest.raises(BadLine, match=why):
        obeyed(line)
