"""Playing profiles: built in by name, or a file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from analysis.instrument import Instrument
from analysis.strings.playing import PlayingProfile
from daq.errors import InputError
from daq.files.playing import load_playing, parse_playing

EVERYDAY = PlayingProfile("everyday", 0.5, 120.0, 2.0, 0.6, {1: 1.7, 6: 2.2}, 2.0)


def test_a_built_in_name_is_taken_before_any_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, instrument: Instrument
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "everyday").write_text("nonsense", encoding="utf-8")

    assert load_playing("everyday", instrument) == EVERYDAY


def test_a_file_with_the_keys_of_a_plans_json(
    tmp_path: Path, playing_text: str, instrument: Instrument
) -> None:
    path = tmp_path / "playing.yaml"
    path.write_text(playing_text, encoding="utf-8")

    assert load_playing(str(path), instrument) == replace(EVERYDAY, pluck_force_n=0.6)


def test_an_unknown_name_lists_the_built_ins(instrument: Instrument) -> None:
    with pytest.raises(InputError) as caught:
        load_playing("evryday", instrument)

    assert str(caught.value) == (
        "playing profile: found text 'evryday'; "
        "allowed gentle, everyday, hard or the path of a YAML file; did you mean everyday?"
    )


def test_a_missing_file_is_one_line(tmp_path: Path, instrument: Instrument) -> None:
    path = tmp_path / "mine.yaml"

    with pytest.raises(InputError) as caught:
        load_playing(str(path), instrument)

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
            "pluck_from_saddle_mm, bend_semitones, least_fret_mm, highest_action_mm, guard, "
            "least_bending_fret_mm, bend_frets",
        ),
        (
            "bend_semitones: 2",
            'bend_semitones: "2"',
            "p.yaml:4: bend_semitones: found text '2'; "
            "allowed a number from 0 to 5 semitones; write 2 without quotes",
        ),
        (
            "pluck_force_n: 0.6",
            "pluck_force_n: -0.6",
            "p.yaml:2: pluck_force_n: found -0.6; allowed a number from 0.02 to 10 N",
        ),
        (
            "pluck_from_saddle_mm: 120",
            "pluck_from_saddle_mm: 400",
            "p.yaml:3: pluck_from_saddle_mm: found 400; allowed at most half the scale, 320.5 mm; "
            "counted from the saddle",
        ),
        (
            '{"1": 1.7, "6": 2.2}',
            "{1: -1.7, 6: 2.2}",
            "p.yaml:6: highest_action_mm[1]: found -1.7; allowed a number from 0.3 to 6 mm",
        ),
        (
            '{"1": 1.7, "6": 2.2}',
            "{1: 0.4, 6: 2.2}",
            "p.yaml:6: highest_action_mm: found 0.40 mm for string 1; allowed more than 0.52 mm, "
            "which that string needs over fret 12 when plucked with 0.6 N; pluck more gently or "
            "nearer the saddle, accept a higher action, or fit heavier strings",
        ),
        (
            "pluck_force_n: 0.6",
            "pluck_force_n: 4",
            "p.yaml:6: highest_action_mm: found 1.80 mm for string 2; allowed more than 3.69 mm, "
            "which that string needs over fret 12 when plucked with 4 N; pluck more gently or "
            "nearer the saddle, accept a higher action, or fit heavier strings",
        ),
        (
            "guard: 2.0",
            "guard: 2.0\nbend_frets: [15, 5]",
            "p.yaml:8: bend_frets: found [15, 5]; allowed [from, to], from the nut; write [5, 15]",
        ),
        (
            "guard: 2.0",
            "guard: 2.0\nbend_frets: [5, 24]",
            "p.yaml:8: bend_frets[2]: found fret 24; "
            "allowed frets 1 to 22, which the instrument has",
        ),
        (
            "guard: 2.0",
            "guard: 2.0\nbend_frets: 5",
            "p.yaml:8: bend_frets: found 5; allowed a list [from, to] of frets",
        ),
        (
            "guard: 2.0",
            "guard: 2.0\nleast_bending_fret_mm: -0.8",
            "p.yaml:8: least_bending_fret_mm: found -0.8; allowed a number from 0.1 to 2 mm",
        ),
    ],
)
def test_a_mistake_gives_exactly_its_line(
    playing_text: str, instrument: Instrument, good: str, bad: str, line: str
) -> None:
    assert good in playing_text

    with pytest.raises(InputError) as caught:
        parse_playing(playing_text.replace(good, bad, 1), "p.yaml", instrument)

    assert str(caught.value) == line


def test_where_bends_are_made_and_what_they_need(playing_text: str, instrument: Instrument) -> None:
    text = playing_text + "least_bending_fret_mm: 0.8\nbend_frets: [5, 15]\n"

    profile = parse_playing(text, "p.yaml", instrument).record

    assert (profile.least_bending_fret_mm, profile.bend_frets) == (0.8, (5, 15))
    least = profile.least_height_mm(22)
    assert least[3:5].tolist() == [0.6, 0.8]
    assert least[14:16].tolist() == [0.8, 0.6]


def test_a_built_in_that_slack_strings_cannot_meet_is_one_line(instrument: Instrument) -> None:
    low = replace(instrument.strings[0], mass_kg_per_m=1e-4)
    slack = replace(instrument, strings=(low, *instrument.strings[1:]))

    with pytest.raises(InputError) as caught:
        load_playing("everyday", slack)

    assert str(caught.value).startswith(
        "playing profile everyday: highest_action_mm: found 1.70 mm for string 1; allowed more than"
    )
    assert "\n" not in str(caught.value)


def test_a_built_in_fits_the_instrument(instrument: Instrument) -> None:
    bass = replace(instrument, scale_bass_mm=864.0, scale_treble_mm=864.0)

    assert load_playing("everyday", bass).pluck_from_saddle_mm == 160.0
