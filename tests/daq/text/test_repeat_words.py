"""What people and documents are told of repeated scans."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.documents.repeats import repeats_document
from daq.reading.repeats import Repeats, ScanLeftOut, TopOff
from daq.text.repeats import combined_line, repeat_sentences


def path(number: int) -> Path:
    return Path(f"jobs/tenor/scans/{number:03d}-unstrung-second-try.h5")


THREE = (path(4), path(5), path(6))
#: Tops off: scan, fret, string, off in µm; and what is said of them, or the heart of it.
OFF = {
    "dirt": (
        [(4, 9, 3.0, 21.2)],
        "In scan 004 fret 9 under string 3 stood 21 ± 2 µm higher than in the others: dirt, most "
        "likely, or a loose fret; that scan does not count there.",
    ),
    "low": (
        [(5, 9, 2.5, -30.0)],
        "In scan 005 fret 9 between strings 2 and 3 stood 30 ± 2 µm lower than in the others: a "
        "misread top, or a loose fret; that scan does not count there.",
    ),
    "a whole end": (
        [(4, 9, 1.0, 12.0), (4, 9, 1.5, 14.0), (4, 9, 2.0, 15.0)],
        "In scan 004 fret 9 under strings 1 and 2 and between strings 1 and 2 stood up to 15 ± 2 "
        "µm higher",
    ),
    "a whole fret": (
        [(4, 9, 1.0 + 0.5 * k, 12.0 + k) for k in range(7)],
        "In scan 004 fret 9 at 7 places stood up to 18 ± 2 µm higher",
    ),
    "it sank": (
        [(4, 9, 3.0, 20.0), (5, 9, 3.0, 20.0)],
        "In scans 004 and 005 fret 9 under string 3 stood 20 ± 2 µm higher than in the others: "
        "since then it is lower: dirt was wiped off, or metal came off; it is taken as it is.",
    ),
    "neither": (
        [(None, 9, 3.0, 20.0)],
        "The scans disagree about fret 9 under string 3 by 20 ± 2 µm, and which is right cannot "
        "be told: the lower one is taken",
    ),
}  # fmt: skip


def off(tops: list[tuple[int | None, int, float, float]]) -> tuple[TopOff, ...]:
    return tuple(
        TopOff(None if scan is None else path(scan), fret, string, 1e-3 * by, 1e-3)
        for scan, fret, string, by in tops
    )


@pytest.mark.parametrize(("tops", "says"), OFF.values(), ids=OFF)
def test_tops_that_are_off(tops: list[tuple[int | None, int, float, float]], says: str) -> None:
    (sentence,) = repeat_sentences(Repeats(THREE, (), off(tops)))
    assert sentence.startswith(says)


def test_what_was_combined() -> None:
    assert combined_line(Repeats(THREE)) == "3 scans combined: 004, 005 and 006."
    assert combined_line(Repeats(THREE[-1:])) == ""
    assert repeat_sentences(Repeats(THREE)) == []


def test_what_was_left_out() -> None:
    out = Repeats(THREE[1:], (ScanLeftOut(path(4), "the neck has bent by 41 µm since"),))
    assert repeat_sentences(out) == ["Scan 004 is left out: the neck has bent by 41 µm since."]


def test_clamping_that_bends() -> None:
    (said,) = repeat_sentences(Repeats(THREE, u_clamping_mm=0.0061))
    assert "after 3 scans its shape is known to ± 12 µm for that alone" in said
    assert repeat_sentences(Repeats(THREE, u_clamping_mm=0.0009)) == []


def test_the_document() -> None:
    tops = off([(4, 9, 3.0, 21.234), (None, 10, 2.5, -8.0)])
    found = repeats_document(Repeats(THREE, (ScanLeftOut(path(3), "bent"),), tops))
    assert found == {
        "scans": [one.name for one in THREE],
        "left_out": [{"scan": path(3).name, "why": "bent"}],
        "outliers": [
            {"scan": path(4).name, "fret": 9, "string": 3, "off_um": 21.2, "u_off_um": 1.0},
            {"scan": None, "fret": 10, "string": 2.5, "off_um": -8.0, "u_off_um": 1.0,
             "status": "the scans disagree, and which is right cannot be told; the lower one is "
             "taken"},
        ],
    }  # fmt: skip
