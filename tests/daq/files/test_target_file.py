"""Target files: every fault at once, in words; what is written is read back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.instrument import Instrument
from analysis.plan.target import AskedShape, Held, Target
from analysis.strings.playing import built_in_profile
from daq.documents.target import target_document
from daq.errors import InputError
from daq.files.target import load_target, parse_target

TEXT = """\
playing: gentle
rod: -0.25
saddles: {1: 0.1, 6: -0.05}
nut: keep
hold: {frets: [3], strings: [6], places: [[5, 2]]}
shape: {frets: [1, 14], off_mm: [0.0, 0.02], hollow_mm: 0.1}
"""


def test_a_whole_file(instrument: Instrument, tmp_path: Path) -> None:
    path = tmp_path / "target.yaml"
    path.write_text(TEXT, encoding="utf-8")
    playing, target = load_target(path, instrument)
    assert playing.name == "gentle"
    assert target == Target(
        frozenset({"nut"}),
        -0.25,
        {1: 0.1, 6: -0.05},
        {},
        Held(frozenset({3}), frozenset({6}), frozenset({(5, 2)})),
        AskedShape((1, 14), (0.0, 0.02), 0.1),
    )


def test_an_empty_group_asks_for_nothing(instrument: Instrument) -> None:
    playing, target = parse_target("rod: free\n", "t", instrument)
    assert playing.name == "everyday"
    assert target == Target()


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("rod: 3", "rod: found 3; allowed a number from 0 to 0.5 turns, tightening positive"),
        ("rod: tighter", "rod: found text 'tighter'; allowed free or keep, or a number from 0"),
        ("saddles: {2: 9}", "saddles[2]: found 9; allowed a number from -1.00 to 1.50 mm, up"),
        ("saddles: {9: 0.1}", "saddles[9]: found string 9; allowed strings 1 to 6"),
        ("saddles: {1: high}", "saddles[1]: found text 'high'; allowed a number from -1.00"),
        ("nut: {1: -0.9}", "nut[1]: found -0.9; allowed a number from -"),
        ("hold: {frets: [30]}", "hold.frets[1]: found fret 30; allowed frets 1 to 22"),
        ("hold: {strings: [7]}", "hold.strings[1]: found string 7; allowed strings 1 to 6"),
        ("hold: {places: [[5, 7]]}", "hold.places[1][2]: found string 7; allowed strings 1 to 6"),
        ("shape: {frets: [5, 3], off_mm: [0, 0]}", "shape.frets: found [5, 3]; allowed [from, to]"),
        ("shape: {frets: [5, 30], off_mm: [0, 0]}", "shape.frets[2]: found fret 30; allowed frets"),
        ("shape: {frets: [5, 9], off_mm: [0, 2]}", "shape.off_mm[2]: found 2; allowed a number"),
        ("playing: loud", "playing: found text 'loud'; allowed gentle or everyday or hard"),
        (
            "saddle: keep",
            "saddle: found an unknown key; allowed only rod, saddles, nut, hold, shape",
        ),
    ],
)
def test_a_fault_is_a_line_in_words(instrument: Instrument, line: str, fault: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_target(f"# asked\n{line}\n", "t.yaml", instrument)
    assert str(caught.value).startswith(f"t.yaml:2: {fault}")
    assert "\n" not in str(caught.value)


def test_a_player_by_keys_is_checked_as_a_playing_file_is(instrument: Instrument) -> None:
    with pytest.raises(InputError) as caught:
        parse_target("playing: {name: x, guard: 9}\n", "t", instrument)
    lines = str(caught.value).splitlines()
    assert (
        "t:1: playing.guard: found 9; allowed a number from 0 to 6 standard uncertainties" in lines
    )
    assert len(lines) == 6


def test_every_fault_is_told_at_once(instrument: Instrument) -> None:
    with pytest.raises(InputError) as caught:
        parse_target(
            "rod: 3\nnut: maybe\nshape: {frets: [1, 2], off_mm: [0, 0]}\n", "t", instrument
        )
    assert [one.split(":")[1] for one in str(caught.value).splitlines()] == ["1", "2", "3"]


def test_a_player_whose_action_cannot_be(instrument: Instrument) -> None:
    playing = target_document(built_in_profile("everyday", 6), Target())["playing"]
    text = json.dumps({"playing": {**playing, "pluck_force_n": 4.0}})
    with pytest.raises(InputError, match=r"playing\.highest_action_mm: found"):
        parse_target(text, "t", instrument)


@given(st.data())
def test_what_is_written_is_read_back(walnut: Instrument, data: st.DataObject) -> None:
    strings = st.dictionaries(st.integers(1, 6), st.integers(-20, 20).map(lambda n: n / 100))
    fret, string = st.integers(1, 22), st.integers(1, 6)
    keep = data.draw(st.frozensets(st.sampled_from(["rod", "nut", "saddles"])))
    first = data.draw(st.integers(1, 12))
    off = st.integers(-500, 500).map(lambda n: n / 1000)
    shape = AskedShape(
        (first, data.draw(st.integers(first + 3, 22))),
        (data.draw(off), data.draw(off)),
        data.draw(st.integers(0, 500)) / 1000,
    )
    target = Target(
        keep,
        None
        if "rod" in keep
        else data.draw(st.none() | st.integers(-50, 50).map(lambda n: n / 100)),
        {} if "saddles" in keep else data.draw(strings),
        {} if "nut" in keep else {s: abs(mm) for s, mm in data.draw(strings).items()},
        Held(
            data.draw(st.frozensets(fret)),
            data.draw(st.frozensets(string)),
            data.draw(st.frozensets(st.tuples(fret, string), max_size=5)),
        ),
        data.draw(st.none() | st.just(shape)),
    )
    player = built_in_profile("everyday", 6)
    text = json.dumps(target_document(player, target))
    assert parse_target(text, "t", walnut) == (player, target)
