"""Instrument files: the contract's becomes the analysis' record, and each mistake its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.errors import InputError
from daq.files.instrument import load_instrument, parse_instrument

ACTION = "action_mm: {1: 1.4, 6: 1.9}"
PLAIN = "gauge_in: 0.010"


def test_the_contracts_instrument_becomes_a_record(instrument_text: str) -> None:
    file = parse_instrument(instrument_text, "i.yaml")
    record = file.record

    assert file.text == instrument_text
    assert record.name == "walnut parlour"
    assert (record.scale_bass_mm, record.scale_treble_mm) == (641.0, 641.0)
    assert (record.frets, record.body_joint_fret, record.nut_at_mm) == (22, 16, 61.0)
    assert record.board_radius_mm == (241.0, 355.0)
    assert record.board_width_mm == (42.8, 56.4)
    assert record.spacing_mm == (7.1, 10.4)
    assert [string.note for string in record.strings] == ["E4", "B3", "G3", "D3", "A2", "E2"]
    assert [string.wound for string in record.strings] == [False] * 3 + [True] * 3
    assert record.strings[0].diameter_mm == pytest.approx(0.254)
    assert record.strings[0].frequency_hz == pytest.approx(329.627557, abs=1e-6)
    assert record.strings[0].mass_kg_per_m is None


def test_heights_between_the_given_strings_are_interpolated(instrument_text: str) -> None:
    record = parse_instrument(instrument_text, "i.yaml").record

    assert record.action_mm == pytest.approx((1.4, 1.5, 1.6, 1.7, 1.8, 1.9))
    assert record.nut_gap_mm == pytest.approx((0.4, 0.42, 0.44, 0.46, 0.48, 0.5))


def test_heights_beyond_the_given_strings_stay_flat(instrument_text: str) -> None:
    text = instrument_text.replace(ACTION, "action_mm: {2: 1.5, 4: 1.9}")

    assert parse_instrument(text, "i.yaml").record.action_mm == pytest.approx(
        (1.5, 1.5, 1.7, 1.9, 1.9, 1.9)
    )


def test_a_fan_one_radius_and_a_given_mass(instrument_text: str) -> None:
    text = (
        instrument_text.replace(
            "scale_mm: 641 ", "scale_mm: {bass: 660, treble: 635, square_fret: 7} "
        )
        .replace("[241, 355]", "305")
        .replace(PLAIN, "gauge_in: 0.028, mass_kg_per_m: 0.0004")
    )

    record = parse_instrument(text, "i.yaml").record

    assert (record.scale_bass_mm, record.scale_treble_mm, record.square_fret) == (660.0, 635.0, 7)
    assert record.board_radius_mm == (305.0, 305.0)
    assert record.strings[0].mass_kg_per_m == 0.0004


@pytest.mark.parametrize(
    ("good", "bad", "line"),
    [
        (
            "scale_mm: 641",
            "scale_mm: 25.5",
            "i.yaml:2: scale_mm: found 25.5; allowed a number from 200 to 1200 mm; "
            "25.5 looks like inches: write 647.7",
        ),
        (
            "scale_mm: 641",
            "scale_mm: long",
            "i.yaml:2: scale_mm: found text 'long'; "
            "allowed a number from 200 to 1200 mm, or {bass, treble, square_fret}",
        ),
        (
            "scale_mm: 641",
            "scale_mm: {bass: 660, treble: 635}",
            "i.yaml:2: scale_mm.square_fret: found nothing; allowed a whole number from 0 to 36",
        ),
        (
            "scale_mm: 641",
            "scale_mm: {bass: 635, treble: 660, square_fret: 7}",
            "i.yaml:2: scale_mm.bass: found 635; allowed at least the treble's 660; "
            "bass and treble look exchanged",
        ),
        (
            "scale_mm: 641",
            "scale_mm: {bass: 660, treble: 635, square_fret: 23}",
            "i.yaml:2: scale_mm.square_fret: found 23; allowed at most frets, which is 22",
        ),
        (
            "frets: 22",
            "frets: 22.0",
            "i.yaml:3: frets: found 22.0; allowed a whole number from 12 to 36",
        ),
        (
            "frets: 22",
            "frets: 40",
            "i.yaml:3: frets: found 40; allowed a whole number from 12 to 36",
        ),
        (
            "body_joint_fret: 16",
            "body_joint_fret: 22",
            "i.yaml:4: body_joint_fret: found 22; allowed less than frets, which is 22",
        ),
        (
            "[241, 355]",
            "9.5",
            "i.yaml:5: board.radius_mm: found 9.5; allowed a number from 50 to 10000 mm; "
            "9.5 looks like inches: write 241.3",
        ),
        (
            "[241, 355]",
            "[355, 241]",
            "i.yaml:5: board.radius_mm: found [355, 241]; "
            "allowed [nut, last fret], the nut's not larger; write [241, 355]?",
        ),
        (
            "[42.8, 56.4]",
            "[42.8]",
            "i.yaml:5: board.width_mm: found a list of 1; allowed a list [nut, last fret] in mm",
        ),
        (
            "nut_at_mm: 61",
            "nut_at_mm: -1",
            "i.yaml:6: nut_at_mm: found -1; allowed a number from 0 to 5000 mm",
        ),
        (
            "nut_at_mm: 61 ",
            "#",
            "i.yaml:1: nut_at_mm: found nothing; allowed a number from 0 to 5000 mm",
        ),
        (
            PLAIN,
            "gauge_in: 10",
            "i.yaml:8: strings[1].gauge_in: found 10; allowed a number from 0.005 to 0.15 inch; "
            "10 looks like thousandths: write 0.010",
        ),
        (
            PLAIN,
            "gauge_in: 0.254",
            "i.yaml:8: strings[1].gauge_in: found 0.254; "
            "allowed a number from 0.005 to 0.15 inch; 0.254 looks like millimetres: write 0.0100",
        ),
        (
            "note: B3",
            "note: H3",
            "i.yaml:9: strings[2].note: found text 'H3'; "
            "allowed a note with its octave, such as E4, C#4 or Bb3",
        ),
        (
            "note: B3",
            "note: b3",
            "i.yaml:9: strings[2].note: found text 'b3'; "
            "allowed a note with its octave, such as E4, C#4 or Bb3; write B3",
        ),
        (
            "note: E4",
            "note: E6",
            "i.yaml:8: strings[1]: found E6 with a gauge of 0.01 inch, a pull of about 1137 N; "
            "allowed 14 to 300 N; check note, octave and gauge; "
            "a string that is not steel needs its material or mass_kg_per_m",
        ),
        (
            PLAIN,
            "gauge_in: 0.010, mass_kg_per_m: 4",
            "i.yaml:8: strings[1].mass_kg_per_m: found 4; allowed a number from 1e-05 to 0.1 kg/m",
        ),
        (
            "gauge_in: 0.026, wound: true",
            "gauge_in: 0.026, wound: yes",
            "i.yaml:11: strings[4].wound: found text 'yes'; allowed true or false",
        ),
        (
            "[7.1, 10.4]",
            "[9.1, 10.4]",
            "i.yaml:14: spacing_mm[1]: found 5 x 9.1 = 45.5 mm across the strings at the nut; "
            "allowed less than the board's width there, 42.8 mm; "
            "spacing is from string to string",
        ),
        (
            ACTION,
            "action_mm: {1: 1.4, 7: 1.9}",
            "i.yaml:15: action_mm[7]: found string 7; allowed strings 1 to 6",
        ),
        (
            ACTION,
            "action_mm: {1: 1.4, six: 1.9}",
            "i.yaml:15: action_mm.six: found text 'six'; "
            "allowed a whole number from 1 to 12 (a string's number)",
        ),
        (
            ACTION,
            "action_mm: 1.5",
            "i.yaml:15: action_mm: found 1.5; "
            "allowed a group from string number to mm, such as {1: 1.4, 6: 1.9}",
        ),
        (
            ACTION,
            "action_mm: {1: 14, 6: 1.9}",
            "i.yaml:15: action_mm[1]: found 14; allowed a number from 0.3 to 6 mm",
        ),
        (
            "{1: 0.4, 6: 0.5}",
            "{1: 0.4, 6: 0.01}",
            "i.yaml:16: nut_gap_mm[6]: found 0.01; allowed a number from 0.05 to 3 mm",
        ),
        (
            "name: walnut parlour",
            'name: "two\\nlines"',
            "i.yaml:1: name: found text 'two\\nlines'; "
            "allowed a text of 1 to 200 characters on one line",
        ),
    ],
)
def test_a_mistake_gives_exactly_its_line(
    instrument_text: str, good: str, bad: str, line: str
) -> None:
    assert good in instrument_text

    with pytest.raises(InputError) as caught:
        parse_instrument(instrument_text.replace(good, bad, 1), "i.yaml")

    assert str(caught.value) == line


def test_strings_from_the_bass_end_are_seen(instrument_text: str) -> None:
    lines = instrument_text.splitlines()
    text = "\n".join(lines[:7] + lines[12:6:-1] + lines[13:])

    with pytest.raises(InputError) as caught:
        parse_instrument(text, "i.yaml")

    assert str(caught.value) == (
        "i.yaml:7: strings: found notes that rise from string to string; "
        "allowed string 1, the highest, first"
    )


def test_a_drone_or_a_re_entrant_tuning_is_no_fault(instrument_text: str) -> None:
    lines = instrument_text.splitlines()
    drone = "  - {note: G4, gauge_in: 0.010}"
    text = "\n".join([*lines[:12], drone, *lines[13:]])

    assert parse_instrument(text, "i.yaml").record.strings[5].note == "G4"


def test_every_fault_is_told_at_once(instrument_text: str) -> None:
    text = (
        instrument_text.replace("scale_mm: 641", "scale_mm: 25.5")
        .replace("body_joint_fret: 16", "body_joint_fret: 24")
        .replace(PLAIN, "guage_in: 0.010")
        .replace("{1: 0.4, 6: 0.5}", "{1: 0.4, 9: 0.5}")
    )

    with pytest.raises(InputError) as caught:
        parse_instrument(text, "i.yaml")

    assert [line.split(";")[0] for line in str(caught.value).splitlines()] == [
        "i.yaml:2: scale_mm: found 25.5",
        "i.yaml:4: body_joint_fret: found 24",
        "i.yaml:8: strings[1].gauge_in: found nothing",
        "i.yaml:8: strings[1].guage_in: found an unknown key",
        "i.yaml:16: nut_gap_mm[9]: found string 9",
    ]


def test_load_reads_a_file_with_a_byte_order_mark(tmp_path: Path, instrument_text: str) -> None:
    path = tmp_path / "i.yaml"
    path.write_text(instrument_text, encoding="utf-8-sig")

    assert load_instrument(path).name == "walnut parlour"
