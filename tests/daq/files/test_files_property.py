"""Whatever a slip of hand makes of a good file, it is read or refused in lines; nothing else."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.instrument import Instrument
from daq.errors import InputError
from daq.files.instrument import parse_instrument
from daq.files.playing import parse_playing
from daq.files.rig import parse_rig

#: The keys that may be left out.
INSTRUMENT_MORE = "compensation_mm: {1: 1.2, 6: 3.8}\nu_action_mm: 0.02\n"
PLAYING_MORE = "least_bending_fret_mm: 0.7\nbend_frets: [5, 15]\n"
LINE = re.compile(r"f:[0-9]+: .*found .+; allowed .+")
SNIPPETS = st.sampled_from(
    [
        *(
            "",
            " ",
            "  ",
            "\t",
            "\n",
            ": ",
            ":",
            ",",
            "- ",
            "# ",
            "? ",
            "[",
            "]",
            "{",
            "}",
            "'",
            '"',
        ),
        *("&a ", "*a", "!!int ", "<<: ", "---\n", "...\n", "%YAML 9.9\n", "| \n", "> \n", "@", "`"),
        *("null", "~", "true", "-1", "0", "1e999", ".nan", "9" * 5000, "1:30", "2024-99-99", "0x"),
        *('"\\ud800"', '"\\UFFFFFFFF"', "\x00", "\x85", "\u2028", "\ufeff", "é", "🎸", "\ud800"),
    ]
)
Slip = tuple[int, int, str]
SLIPS = st.lists(
    st.tuples(st.integers(0, 1200), st.integers(0, 12), SNIPPETS | st.text(max_size=6)),
    min_size=1,
    max_size=4,
)
LINE_SWAPS = st.lists(st.tuples(st.integers(0, 25), st.integers(0, 25)), max_size=3)
QUIET = settings(
    max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def slipped(text: str, slips: list[Slip], swaps: list[tuple[int, int]]) -> str:
    for start, length, snippet in slips:
        at = start % (len(text) + 1)
        text = text[:at] + snippet + text[at + length :]
    lines = text.split("\n")
    for one, other in swaps:
        one, other = one % len(lines), other % len(lines)
        lines[one], lines[other] = lines[other], lines[one]
    return "\n".join(lines)


def said(parse: Callable[[str, str], object], text: str) -> str:
    try:
        parse(text, "f")
    except InputError as error:
        return str(error)
    return ""


def check(parse: Callable[[str, str], object], text: str) -> None:
    message = said(parse, text)
    lines = message.splitlines()
    assert message == "\n".join(lines)
    assert all(LINE.fullmatch(line) for line in lines), lines
    assert len(set(lines)) == len(lines)
    # PyYAML counts more characters as line breaks than an editor may
    last = len(text.splitlines()) + 1
    assert all(1 <= int(line.split(":")[1]) <= last for line in lines)


@given(slips=SLIPS, swaps=LINE_SWAPS)
@QUIET
def test_slips_in_a_rig_file(
    rig_text: str, slips: list[Slip], swaps: list[tuple[int, int]]
) -> None:
    check(parse_rig, slipped(rig_text, slips, swaps))


@given(slips=SLIPS, swaps=LINE_SWAPS)
@QUIET
def test_slips_in_an_instrument_file(
    instrument_text: str, slips: list[Slip], swaps: list[tuple[int, int]]
) -> None:
    check(parse_instrument, slipped(instrument_text + INSTRUMENT_MORE, slips, swaps))


@given(slips=SLIPS, swaps=LINE_SWAPS)
@QUIET
def test_slips_in_a_playing_file(
    playing_text: str,
    instrument: Instrument,
    slips: list[Slip],
    swaps: list[tuple[int, int]],
) -> None:
    def parse(text: str, name: str) -> object:
        return parse_playing(text, name, instrument)

    check(parse, slipped(playing_text + PLAYING_MORE, slips, swaps))


TREES = st.recursive(
    st.none() | st.booleans() | st.integers(-2000, 2000) | st.floats() | st.text(max_size=5),
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(st.text(max_size=4), inside),
    max_leaves=8,
)


@pytest.mark.parametrize(
    "key", ["name", "links", "carriage", "sensor", "pads", "scale_mm", "board", "strings", "frets"]
)
@given(tree=TREES)
@settings(max_examples=40, deadline=None)
def test_anything_at_all_under_a_key(key: str, tree: object) -> None:
    text = f"{key}: {flow(tree)}\n"

    check(parse_rig, text)
    check(parse_instrument, text)


def flow(tree: object) -> str:
    """YAML on one line, numbers and texts bare where that is how a person writes them."""
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{flow(key)}: {flow(item)}" for key, item in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(flow(item) for item in tree) + "]"
    return str(tree) if tree != "" else '""'
