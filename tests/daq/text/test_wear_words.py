"""What people and documents are told of worn and loose frets."""

from __future__ import annotations

import io
import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.neck.neck import Tip
from analysis.neck.shape import Shape
from analysis.wear.loose import Loose
from analysis.wear.wear import VERDICTS, Wear
from daq.documents.wear import loose_document, wear_document
from daq.text.console import make_console
from daq.text.heights import height_sentence
from daq.text.wear import MARKS, loose_sentences, print_loose, print_wear, wear_sentences

GOLDEN = Path(__file__).parent / "golden"
BALL = Tip(1.0)


def sound(frets: int = 4, strings: int = 6) -> Wear:
    """Nothing worn: dents of half a micrometre, known to one."""
    of = np.ones((frets, strings))
    nothing = np.full(of.shape, np.nan)
    return Wear(
        0.0005 * of, 0.001 * of, nothing, 0.0 * of, 0.03 * of, np.full(of.shape, "round", "U9")
    )


def worn() -> Wear:
    """One place of every verdict."""
    wear = sound()
    for (fret, string), dent, flat, verdict in (
        ((0, 0), 0.050, 0.45, "dented"),
        ((1, 0), 0.023, 0.3, "dented"),
        ((1, 2), 0.031, 0.4, "dented"),
        ((2, 1), 0.012, 0.42, "leave"),
        ((2, 3), 0.004, 0.85, "crown"),
        ((3, 4), 0.140, 0.9, "worn out"),
        ((3, 5), np.nan, np.nan, "not known"),
    ):
        wear.dent_mm[fret, string], wear.flat_mm[fret, string] = dent, flat
        wear.u_dent_mm[fret, string] = np.nan if np.isnan(dent) else 0.001
        wear.u_flat_mm[fret, string] = np.nan if np.isnan(flat) else 0.01
        wear.verdict[fret, string] = verdict
    wear.dent_width_mm[0, 0] = 7.4
    return wear


LOOSE = (
    Loose(5, (2.5, 3.0, 3.5), 0.0152, 0.001, "ways disagree"),
    Loose(9, (1.0, 1.5), 0.04, 0.0011, "lanes disagree"),
    Loose(12, (), 0.011, 0.002, "strung and unstrung disagree"),
    Loose(13, (4.0,), 0.02, 0.002, "scans disagree"),
)


def test_the_table_and_its_words(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    stream = io.StringIO()
    print_wear(make_console(stream), worn(), BALL)
    print_loose(make_console(stream), LOOSE)
    text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / "wear.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def test_every_verdict_has_a_mark_of_its_own() -> None:
    assert set(MARKS) == set(VERDICTS)
    assert len(set(MARKS.values())) == len(VERDICTS)


def test_a_sound_neck_needs_one_sentence_and_the_band() -> None:
    assert wear_sentences(sound(), BALL) == [
        "No dents and no flats to speak of: nothing here needs a file.",
        "Dents are known to ± 2.0 µm (twice the standard uncertainty).",
    ]


def test_the_worst_comes_first_and_says_what_to_do() -> None:
    said = wear_sentences(worn(), BALL)
    assert [one.split(":")[0] for one in said[:3]] == ["Worn out", "Dented", "Wide flats"]
    assert said[0].startswith("Worn out: fret 4 under string 5.")
    assert "put in new frets before anything is filed" in said[0]
    assert "frets 1 and 2 under string 1 and fret 2 under string 3" in said[1]
    assert "deepest 0.050 ± 0.002 mm, fret 1 under string 1" in said[1]
    assert "Not known in 1 of 24 places." in said


def test_a_ball_bridges_and_a_light_spot_does_not() -> None:
    """Sinking 0.05 mm, a ball of 1 mm radius needs 0.62 mm."""
    assert "less than 0.6 mm wide" in wear_sentences(worn(), BALL)[1]
    assert "less than 1.0 mm wide" in wear_sentences(worn(), Tip(2.5))[1]
    assert "stands on its edges" not in wear_sentences(worn(), Tip(0.0, 0.1))[1]


def test_many_places_are_told_in_short() -> None:
    many = sound(12, 6)
    many.verdict[2:9, :] = "dented"
    many.dent_mm[2:9, :] = 0.03
    assert "Dented: frets 3 to 9 under strings 1 to 6; deepest" in wear_sentences(many, BALL)[0]


def test_nothing_known() -> None:
    nothing = np.full((4, 6), np.nan)
    blind = Wear(*[nothing] * 5, np.full((4, 6), "not known"))
    (said,) = wear_sentences(blind, BALL)
    assert said.startswith("Wear is not known")
    assert {entry["dent_um"] for entry in wear_document(blind)} == {None}


def test_loose_frets_in_words() -> None:
    assert loose_sentences(()) == []
    ways, lanes, states, scans = loose_sentences(LOOSE)
    assert ways.startswith("Fret 5 looks loose between strings 2 and 4: passes there and back")
    assert "0.015 ± 0.002 mm" in ways
    assert "between strings 1 and 2: it stands 0.040" in lanes
    assert states.startswith("Fret 12 looks loose: strung and unstrung")
    assert "under string 4: repeated scans differ" in scans
    assert all("press it with a finger" in one for one in (ways, lanes, states, scans))
    stream = io.StringIO()
    print_loose(make_console(stream), ())
    assert stream.getvalue() == ""


def test_wear_as_a_document() -> None:
    entries = wear_document(worn())
    assert len(entries) == 24
    assert entries[0] == {
        "fret": 1, "string": 1, "dent_um": 50.0, "u_dent_um": 1.0, "dent_width_mm": 7.4,
        "flat_mm": 0.45, "u_flat_mm": 0.01, "verdict": "dented", "status": "ok",
    }  # fmt: skip
    assert entries[-1] == {
        "fret": 4, "string": 6, "dent_um": None, "u_dent_um": None, "dent_width_mm": None,
        "flat_mm": None, "u_flat_mm": None, "verdict": "not known",
        "status": "not known: dent, flat",
    }  # fmt: skip
    assert [(entry["fret"], entry["string"]) for entry in entries[5:8]] == [(1, 6), (2, 1), (2, 2)]
    half = replace(worn(), flat_mm=np.full((4, 6), np.nan))
    assert wear_document(half)[0]["status"] == "not known: flat"
    json.dumps(entries, allow_nan=False)


def test_a_low_fret_is_told_once(strung: Shape, unstrung: Shape) -> None:
    """Unstrung by the table of wear, strung, where there is none, with the heights."""
    for shape, told in ((strung, True), (unstrung, False)):
        height = shape.height_mm.copy()
        height[1, 0] = 0.47
        said = height_sentence(replace(shape, height_mm=height))
        assert said.startswith("Lowest: 0.47 mm, fret 2 under string 1.")
        assert ("a fret is done for" in said) is told


def test_loose_frets_as_a_document() -> None:
    entries = loose_document(LOOSE)
    assert entries[0] == {
        "fret": 5, "strings": [2.5, 3.0, 3.5], "size_um": 15.2, "u_size_um": 1.0,
        "why": "ways disagree",
    }  # fmt: skip
    json.dumps(entries, allow_nan=False)
