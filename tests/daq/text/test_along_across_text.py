"""Along and across in words: pinned pages, and each verdict where it belongs."""

from __future__ import annotations

import io
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.form.across import Across
from analysis.form.along import Along, Hump, along_of, room_mm
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from daq.text.across import across_sentences, form_sentence, frets_sentence, print_across
from daq.text.along import (
    along_sentences,
    fall_sentence,
    hump_sentences,
    print_along,
    s_sentence,
)
from daq.text.console import make_console
from daq.text.summary import radius_sentence, twist_sentence

GOLDEN = Path(__file__).parent / "golden"


def pinned(name: str, text: str) -> None:
    text = "\n".join(line.rstrip() for line in text.splitlines()) + "\n"
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


@pytest.fixture
def across(six: Instrument) -> Across:
    """A cone; fret 4 flat, fret 5 unseen, fret 9 of another radius."""
    share = six.fret_x_mm(np.arange(1.0, 23.0), 3.5) / float(six.fret_x_mm(22.0, 3.5))
    radius = 239.0 + share * (357.0 - 239.0)
    u = np.full(22, 0.5)
    radius[3], radius[4], radius[8] = np.inf, np.nan, 420.0
    u[3] = u[4] = np.nan
    lanes = np.where(np.arange(22) == 4, 2, 11)
    return Across(radius, u, lanes, "cone", (239.0, 357.0), (0.3, 0.31))


def test_across_page(across: Across, unstrung: Shape, six: Instrument) -> None:
    stream = io.StringIO()
    shape = replace(unstrung, u_twist_scan_mrad=0.17, u_board_radius_mm=(0.3, 0.31))
    print_across(make_console(stream), across, shape, six)
    pinned("across", stream.getvalue())


def test_along_page(unstrung: Shape, strung: Shape, six: Instrument) -> None:
    stream = io.StringIO()
    for shape in (unstrung, strung):
        print_along(make_console(stream), along_of(shape, six), shape, six)
    pinned("along", stream.getvalue())


def one(string: int = 1, **changed: object) -> Along:
    nothing = np.zeros(22)
    plain = Along(string, 0.0, 0.001, 0.05, 0.005, (), nothing, nothing, 0.002)
    return replace(plain, **changed)  # type: ignore[arg-type]


def test_s_matters_only_beyond_its_uncertainty() -> None:
    assert "does not explain" in s_sentence([one(s_mm=0.02, u_s_mm=0.011)])
    assert "little" in s_sentence([one(s_mm=-0.02, u_s_mm=0.004)])
    great = s_sentence([one(s_mm=0.05, u_s_mm=0.004), one(2, s_mm=0.01, u_s_mm=0.004)])
    assert "it matters" in great
    assert "strings 1 and 2, up to 0.050 ± 0.008 mm" in great


def test_fall_away(six: Instrument) -> None:
    assert "fall away by 0.05 mm: no matter" in fall_sentence([one()], six)
    assert "rise, by 0.15 mm" in fall_sentence([one(fall_away_mm=-0.15)], six)
    assert "keep within 0.04 mm" in fall_sentence([one(fall_away_mm=-0.04)], six)
    assert "much" in fall_sentence([one(fall_away_mm=0.4), one(2, fall_away_mm=-0.01)], six)
    unknown = one(fall_away_mm=np.nan, u_fall_away_mm=np.nan)
    assert "nothing is known" in fall_sentence([unknown], six)


def test_high_and_low_frets_are_gathered_over_strings(six: Instrument) -> None:
    high = [one(s, humps=(Hump(9, 9, 9, 0.05 + 0.002 * s, 0.002),)) for s in (1, 2, 3)]
    low = one(5, humps=(Hump(12, 11, 13, -0.07, 0.003), Hump(20, 20, 20, 0.015, 0.001)))
    said = hump_sentences([*high, low], room_mm(six))
    assert said[0] == "Fret 9 stands high by 0.052 to 0.056 mm, ± 0.004, under strings 1 to 3."
    assert said[1] == "Frets 11 to 13 stand low by 0.070 mm, ± 0.006, under string 5."
    assert "over a quarter of the 0.13 to 0.19 mm" in said[2]
    assert said[3].startswith("1 place more stands out by less")
    assert hump_sentences([one()], room_mm(six))[0].startswith("No fret and no stretch")


def test_little_humps_alone_do_not_matter(six: Instrument) -> None:
    said = hump_sentences([one(humps=(Hump(9, 9, 9, 0.02, 0.002),))], room_mm(six))
    assert len(said) == 1
    assert said[0].endswith("clears it by: no matter.")


def test_unstrung_is_said_to_be_without_the_pull(
    unstrung: Shape, strung: Shape, six: Instrument
) -> None:
    assert "without the strings' pull" in along_sentences([one()], unstrung, six)[-1]
    assert not any("pull" in said for said in along_sentences([one()], strung, six))
    blind = one(s_mm=np.nan)
    assert "too few tops" in along_sentences([blind], strung, six)[0]


def test_forms(across: Across, unstrung: Shape, six: Instrument) -> None:
    assert form_sentence(across, six).startswith("The board is a cone")
    plain = replace(six, board_radius_mm=(305.0, 305.0))
    assert "The file says a cylinder" in form_sentence(across, plain)
    unknown = replace(across, form="not known", radius_mm=np.full(22, np.nan))
    said = across_sentences(unknown, unstrung, six)
    assert not any("Board radius" in line for line in said)
    assert said[-1].startswith("No fret shows a circle")


def test_frets_off_the_arc_are_named(across: Across, unstrung: Shape) -> None:
    assert "frets 4 and 9 leave" in frets_sentence(across, unstrung)
    doubtful = replace(across, u_radius_mm=np.full(22, 200.0))
    doubtful.radius_mm[3] = 270.0
    assert "no matter" in frets_sentence(doubtful, unstrung)


def test_twist_says_what_it_rests_on(unstrung: Shape, six: Instrument) -> None:
    known = replace(unstrung, twist_mrad=0.984, u_twist_mrad=0.104, u_twist_scan_mrad=0.029)
    said = twist_sentence(known, six)
    assert "Twist 0.98 ± 0.21 mrad" in said
    assert "± 0.06 by the scan" in said
    assert "too few lanes" in twist_sentence(replace(known, twist_mrad=np.nan), six)


def test_radius_against_the_file(unstrung: Shape, six: Instrument) -> None:
    near = replace(unstrung, u_board_radius_mm=(0.3, 0.3))
    assert "239.0 ± 0.6 mm at the nut" in radius_sentence(near, six)
    assert "near enough" in radius_sentence(near, six)
    assert "check the file" in radius_sentence(replace(near, board_radius_mm=(300.0, 357.0)), six)
    assert "flat" in radius_sentence(replace(near, board_radius_mm=(1e5, 1e5)), six)
