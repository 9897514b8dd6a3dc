"""Playing profiles: built in by name, or a file."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.strings.playing import PlayingProfile
from daq.errors import InputError
from daq.files.playing import load_playing, parse_playing

EVERYDAY = PlayingProfile("everyday", 0.6, 120.0, 2.0, 0.6, {1: 1.7, 6: 2.2}, 2.0)


def test_a_built_in_name_is_taken_before_any_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "everyday").write_text("nonsense", encoding="utf-8")

    assert load_playing("everyday", 6) == EVERYDAY
    assert load_playing("hard", 4).highest_action_mm == {1: 2.3, 4: 2.9}


def test_a_file_with_the_keys_of_a_plans_json(tmp_path: Path, playing_text: str) -> None:
    path = tmp_path / "playing.yaml"
    path.write_text(playing_text, encoding="utf-8")

    assert load_playing(str(path), 6) == EVERYDAY


def test_an_unknown_name_lists_the_built_ins() -> None:
    with pytest.raises(InputError) as caught:
        load_playing("evryday", 6)

    assert str(caught.value) == (
        "playing profile: found text 'evryday'; "
        "allowed gentle, everyday, hard or the path of a YAML file; did you mean everyday?"
    )


def test_a_missing_file_is_one_line(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"

    with pytest.raises(InputError) as caught:
        load_playing(str(path), 6)

    assert str(caught.value) == f"{path}: found no such file; allowed a playing file (YAML)"


@pytest.mark.parametrize(
    ("good", "bad", "line"),
    [
        (
            "pluck_force_n: 0.6",
            "pluck_force_n: 60",
            "p.yaml:2: pluck_force_n: found 60; allowed a number from 0.02 to 10 N",
        ),
        (
            "guard: 2.0\n",
            "",
            "p.yaml:1: guard: found nothing; allowed a number from 0 to 6 standard uncertainties",
        ),
        (
            '{"1": 1.7, "6": 2.2}',
            "{1: 1.7, 13: 2.2}",
            "p.yaml:6: highest_action_mm[13]: found 13; "
            "allowed a whole number from 1 to 12 (a string's number)",
        ),
        (
            "guard: 2.0",
            "guard: 2.0\npick: 0.7",
            "p.yaml:8: pick: found an unknown key; allowed only name, pluck_force_n, "
            "pluck_from_saddle_mm, bend_semitones, least_fret_mm, highest_action_mm, guard",
        ),
        (
            "bend_semitones: 2",
            'bend_semitones: "2"',
            "p.yaml:4: bend_semitones: found text '2'; "
            "allowed a number from 0 to 5 semitones; write 2 without quotes",
        ),
    ],
)
def test_a_mistake_gives_exactly_its_line(
    playing_text: str, good: str, bad: str, line: str
) -> None:
    assert good in playing_text

    with pytest.raises(InputError) as caught:
        parse_playing(playing_text.replace(good, bad, 1), "p.yaml")

    assert str(caught.value) == line
