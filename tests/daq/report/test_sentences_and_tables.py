"""What the report says of a neck in sentences and tables, and in which order."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.findings.findings import Finding
from analysis.neck.neck import Tip
from analysis.wear.loose import Loose
from daq.reading.repeats import Repeats, ScanLeftOut
from daq.report.page import report_html
from daq.report.record import ReportInput
from daq.text.across import across_sentences
from daq.text.along import hump_sentences
from daq.text.wear import wear_sentences


@pytest.fixture
def six_by_22(sized: Any) -> ReportInput:
    return sized(6, 22)  # type: ignore[no-any-return]


def _section(page: str, title: str) -> str:
    """From one second-level heading to the next, entities undone."""
    return unescape(page.split(f"<h2>{title}</h2>")[1].split("<h2>")[0])


def _table(page: str, title: str) -> list[list[str]]:
    """Rows of the first table whose caption starts so."""
    body = page.split(f"<caption>{title}")[1].split("<tbody>")[1].split("</tbody>")[0]
    return [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row) for row in body.split("</tr>")[:-1]]


def test_wear_is_told_in_full_once(six_by_22: ReportInput) -> None:
    given = replace(six_by_22, tip=Tip(1.0))
    assert given.wear is not None
    page = unescape(report_html(given))
    for line in wear_sentences(given.wear, given.tip):
        assert page.count(line) == 1
        assert line in _section(page, "What was measured")


def test_pictures_are_explained(six_by_22: ReportInput) -> None:
    pictures = _section(report_html(six_by_22), "The neck in pictures")
    assert six_by_22.across is not None
    assert six_by_22.unstrung is not None
    it = six_by_22.instrument
    for line in across_sentences(six_by_22.across, six_by_22.unstrung, it):
        assert line in pictures
    for line in hump_sentences(six_by_22.along["unstrung"], np.full(6, 0.1)):
        assert line[:40] in pictures


def test_what_is_in_doubt_comes_under_its_own_heading(six_by_22: ReportInput, field: Any) -> None:
    given = replace(
        six_by_22,
        field=field,
        loose=(Loose(7, (2.0, 2.5), 0.031, 0.002, "ways disagree"),),
        findings=(Finding("loose fret", 12, None, 0.05, 0.002),),
        repeats={"strung": Repeats((Path("003-strung.h5"),),
                                   (ScanLeftOut(Path("001-strung.h5"), "it moved"),))},
        unstrung=replace(six_by_22.unstrung, remark="a datum without an end"),
    )  # fmt: skip
    found = _section(report_html(given), "What was measured")
    doubts = found.split("<h3>Worth a second look</h3>")[1]
    for words in ("Fret 7 looks loose", "Fret 12", "Scan 001 is left out", "a datum without"):
        assert words in doubts
    assert "Worth a second look" not in report_html(six_by_22)


def test_scans_combined_are_named_beside_the_rig(six_by_22: ReportInput) -> None:
    used = (Path("001-strung.h5"), Path("002-strung.h5"))
    page = report_html(replace(six_by_22, repeats={"strung": Repeats(used)}))
    assert "strung: 2 scans combined: 001 and 002." in page


def test_tables_hold_what_the_pictures_show(six_by_22: ReportInput) -> None:
    page = report_html(six_by_22)
    assert _table(page, "What stands out")[:2] == [
        ["3 to 5", *["-20"] * 6],
        ["9", *["+41"] * 6],
    ]
    heights = _table(page, "Fret heights")
    assert (len(heights), len(heights[0])) == (22, 7)
    assert heights[3][2].startswith("-")
    chord = _table(page, "Tops over the chord")
    assert chord[0][1:] == ["0"] * 6
    assert _table(page, "Radius of each fret")[5] == ["6", "flat", "10.0"]
    assert _table(page, "Along each string, strung")[0][3] == "+0.045"


def test_table_of_wear_has_what_asks_for_work(six_by_22: ReportInput) -> None:
    wear = six_by_22.wear
    assert wear is not None
    rows = _table(report_html(six_by_22), "Wear that asks")
    wanted = np.isin(wear.verdict, ["crown", "dented", "worn out"])
    assert [int(row[0]) for row in rows] == (np.flatnonzero(wanted.any(axis=1)) + 1).tolist()
    assert sum(cell != "." for row in rows for cell in row[1:]) == np.count_nonzero(wanted)
    f, s = np.argwhere(wear.verdict == "dented")[0].tolist()
    assert next(row for row in rows if row[0] == str(f + 1))[s + 1] == "21v"
    f, s = np.argwhere(wear.verdict == "crown")[0].tolist()
    flat = f"{wear.flat_mm[f, s]:.2f}#"
    assert next(row for row in rows if row[0] == str(f + 1))[s + 1] == flat


def test_neck_that_needs_no_work_has_no_table_of_wear(six_by_22: ReportInput) -> None:
    assert six_by_22.wear is not None
    fine = replace(six_by_22.wear, verdict=np.full((22, 6), "round"))
    page = report_html(replace(six_by_22, wear=fine))
    assert "Wear that asks for work" not in page
    assert "No dents and no flats to speak of" in page
