"""What is asked of a plan, a field moved at a time: pure."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from typing import Any

import pytest

from analysis.instrument import Instrument
from daq.daemon.jobs.asked import changed
from daq.daemon.jobs.checked import checked, first_asked, fitted
from daq.daemon.jobs.controls import controls_of
from daq.errors import InputError


@pytest.fixture
def asked(six: Instrument) -> dict[str, Any]:
    return first_asked(six).asked


def moved(asked: dict[str, Any], it: Instrument, *moves: tuple[str, object]) -> dict[str, Any]:
    for path, value in moves:
        asked = checked(changed(asked, path, value, it), it).asked
    return asked


@pytest.mark.parametrize(
    ("path", "value", "key", "found"),
    [
        ("pluck_force_n", 0.4, "playing.pluck_force_n", 0.4),
        ("pluck_from_saddle_mm", 100, "playing.pluck_from_saddle_mm", 100.0),
        ("bend_semitones", 1, "playing.bend_semitones", 1.0),
        ("least_fret_mm", 0.5, "playing.least_fret_mm", 0.5),
        ("guard", 1.5, "playing.guard", 1.5),
        ("action.first_mm", 2.0, "playing.highest_action_mm.1", 2.0),
        ("action.last_mm", 2.5, "playing.highest_action_mm.6", 2.5),
        ("player", "gentle", "playing.name", "gentle"),
        ("rod", 0.25, "rod", 0.25),
        ("rod", "keep", "rod", "keep"),
        ("saddles", "keep", "saddles", "keep"),
        ("nut", "keep", "nut", "keep"),
        ("saddle.3", 0.1, "saddles", {"3": 0.1}),
        ("nut.6", -0.05, "nut", {"6": -0.05}),
        ("hold.fret.3", True, "hold.frets", [3]),
        ("hold.string.6", True, "hold.strings", [6]),
        ("hold.place.5.2", True, "hold.places", [[5, 2]]),
        ("shape.hollow_um", 80, "shape", {"frets": [1, 16], "off_mm": [0, 0], "hollow_mm": 0.08}),
        ("shape.from", 2, "shape.frets", [2, 16]),
        ("shape.to", 14, "shape.frets", [1, 14]),
        ("shape.from_off_um", -20, "shape.off_mm", [-0.02, 0.0]),
        ("shape.to_off_um", 20, "shape.off_mm", [0.0, 0.02]),
    ],
)
def test_a_field_is_moved_and_no_other(
    asked: dict[str, Any], six: Instrument, path: str, value: object, key: str, found: object
) -> None:
    before = deepcopy(asked)
    after = moved(asked, six, (path, value))
    assert asked == before
    first, *rest = key.split(".")
    there = after[first]
    for step in rest:
        there = there[step]
    assert there == found
    assert {k: v for k, v in after.items() if k != first} == {
        k: v for k, v in before.items() if k != first
    }


def test_a_player_whose_numbers_were_moved_is_not_called_that_player(
    asked: dict[str, Any], six: Instrument
) -> None:
    softer = moved(asked, six, ("pluck_force_n", 0.45), ("action.first_mm", 1.8))
    assert softer["playing"]["name"] == "everyday, changed"
    back = moved(softer, six, ("action.first_mm", 1.7), ("pluck_force_n", 0.5))
    assert back["playing"]["name"] == "everyday"
    assert moved(softer, six, ("player", "hard"))["playing"]["name"] == "hard"


def test_screws_that_were_kept_stay_where_they_are_when_one_is_moved(
    asked: dict[str, Any], six: Instrument
) -> None:
    after = moved(asked, six, ("saddles", "keep"), ("saddle.2", 0.2))
    assert after["saddles"] == {"1": 0.0, "2": 0.2, "3": 0.0, "4": 0.0, "5": 0.0, "6": 0.0}


def test_a_screw_that_is_let_go_is_free_again(asked: dict[str, Any], six: Instrument) -> None:
    after = moved(asked, six, ("saddle.2", 0.2), ("saddle.4", 0.1), ("saddle.2", None))
    assert after["saddles"] == {"4": 0.1}
    assert moved(after, six, ("saddle.4", None))["saddles"] == "free"


def test_what_was_held_back_is_let_go(asked: dict[str, Any], six: Instrument) -> None:
    after = moved(asked, six, ("hold.fret.9", True), ("hold.fret.3", True), ("hold.fret.9", False))
    assert after["hold"]["frets"] == [3]
    assert moved(after, six, ("hold.fret.3", True)) == after


def test_a_shape_is_given_whole_and_given_up(asked: dict[str, Any], six: Instrument) -> None:
    whole = {"frets": [2, 12], "off_mm": [0.0, -0.01], "hollow_mm": 0.05}
    after = moved(asked, six, ("shape", whole))
    assert after["shape"] == whole
    assert moved(after, six, ("shape", None)) == asked


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("gard", 1, "change: found text 'gard', which is nothing that can be asked for; did you"),
        ("", 1, "change: found text '', which is nothing that can be asked for"),
        ("guard.x", 1, "nothing that can be asked for"),
        ("pluck_force_n", 30, "pluck force: found 30; allowed a number from 0.05 to 2 N"),
        ("pluck_force_n", "0,5", "pluck force: found text '0,5'; allowed a number from"),
        ("pluck_force_n", float("nan"), "pluck force: found nan; allowed a number from"),
        ("pluck_force_n", True, "pluck force: found true"),
        ("pluck_force_n", None, "pluck force: found nothing"),
        ("player", "nobody", "player: found text 'nobody'; allowed gentle, everyday, hard"),
        ("player", "../x.yaml", "player: found"),
        ("rod", "loose", "rod: found text 'loose'; allowed free or keep, or a number from -0.5"),
        ("rod", 2, "rod: found 2; allowed a number from -0.5 to 0.5 turns"),
        ("saddles", 0.1, "saddles: found 0.1; allowed free or keep"),
        ("saddle.7", 0.1, "saddle, string 7: found no such string; allowed strings 1 to 6"),
        ("saddle.01", 0.1, "saddle, string 01: found no such string"),
        ("saddle.2", 9, "saddle, string 2: found 9; allowed a number from -1 to 1.5 mm"),
        ("nut.1", -0.29, "nut slot, string 1: found -0.29; allowed a number from -0.25 to 0.3 mm"),
        ("hold.fret.23", True, "hold back: found fret 23; allowed frets 1 to 22"),
        ("hold.fret.3", 1, "hold back fret 3: found 1; allowed true or false"),
        ("hold.place.3", True, "hold back: found text 'hold.place.3'"),
        ("hold.place.3.7", True, "hold back: found string 7; allowed strings 1 to 6"),
        ("shape.from", 2.5, "first anchor: found 2.5; allowed a whole number from 1 to 22"),
        ("shape.to", 40, "last anchor: found 40; allowed a whole number from 1 to 22"),
        ("shape.deep", 4, "shape: found text 'shape.deep'; allowed shape.from"),
        ("shape", [1, 2], "shape: found list; allowed nothing, or frets: [from, to]"),
        ("shape", {"frets": [1]}, "shape: found a group of keys (frets); allowed nothing"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    asked: dict[str, Any], six: Instrument, path: str, value: object, said: str
) -> None:
    before = deepcopy(asked)
    with pytest.raises(InputError) as refused:
        changed(asked, path, value, six)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)
    assert asked == before


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("pluck_force_n", 2, "highest action: found 1.80 mm for string 2; allowed more than"),
        ("shape.to", 3, "anchors of the shape: found [1, 3]; allowed [from, to] from the nut"),
        ("shape", {"frets": [1, 9], "off_mm": [0, 9]}, "shape.off_mm[2]: found 9; allowed"),
    ],
)
def test_what_does_not_go_together_is_told_without_lines_of_a_file(
    asked: dict[str, Any], six: Instrument, path: str, value: object, said: str
) -> None:
    with pytest.raises(InputError) as refused:
        checked(changed(asked, path, value, six), six)
    assert str(refused.value).startswith(said)


def test_what_is_asked_whole_may_be_no_rubbish(asked: dict[str, Any], six: Instrument) -> None:
    for wrong in ({"playing": 3}, {**asked, "more": 1}, {**asked, "rod": float("nan")}):
        with pytest.raises(InputError):
            checked(wrong, six)


def test_every_end_of_every_range_is_allowed(asked: dict[str, Any], six: Instrument) -> None:
    controls = controls_of(six)
    assert len(controls) == 7 + 1 + 12 + 5
    for path, control in controls.items():
        for end in (control.least, control.most):
            changed(asked, path, end, six)


def test_what_another_instrument_does_not_allow_is_dropped_and_said(six: Instrument) -> None:
    moves = (("saddle.6", 0.1), ("saddle.2", 0.2), ("hold.string.6", True), ("hold.fret.3", True),
             ("hold.place.5.6", True), ("rod", 0.1), ("pluck_force_n", 0.4))  # fmt: skip
    asked = moved(first_asked(six).asked, six, *moves)
    five = replace(
        six,
        strings=six.strings[:5],
        action_mm=six.action_mm[:5],
        nut_gap_mm=six.nut_gap_mm[:5],
    )
    asked["playing"]["highest_action_mm"] = {"1": 1.7, "5": 2.2}
    left, dropped = fitted(asked, five)
    assert left.asked["saddles"] == {"2": 0.2}
    assert left.asked["hold"] == {"frets": [3], "strings": [], "places": []}
    assert left.asked["rod"] == 0.1
    assert left.asked["playing"]["pluck_force_n"] == 0.4
    assert len(dropped) == 3
    assert "the saddle of string 6" in dropped[0]
    assert all(
        said.startswith("No longer asked, for the instrument's file changed") for said in dropped
    )


def test_what_still_fits_is_left_alone(asked: dict[str, Any], six: Instrument) -> None:
    after = moved(asked, six, ("saddle.6", 0.1), ("shape.hollow_um", 50))
    left, dropped = fitted(after, six)
    assert (left.asked, dropped) == (after, [])
