"""The report: one page, whole, at every stage of a job, and nothing in it runs."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pytest

from analysis.after.law import Law
from analysis.after.verify import Cut
from analysis.bench.sheet import Bench
from analysis.instrument import Instrument
from analysis.movement.movement import Field
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from daq.figures.axes import ticks
from daq.figures.html import Html, tag
from daq.figures.scaledcells import scaled_cells
from daq.report.page import report_html
from daq.report.record import ReportInput, ScanMade


class _Reader(HTMLParser):
    """Tags with their attributes, text, headings; every tag closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.headings: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "hr"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)
        if self.open and self.open[-1] == "h2":
            self.headings.append(data)


def _read(page: str) -> _Reader:
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture
def bare(six: Instrument) -> ReportInput:
    return ReportInput("parlour", six, "neckform 0.1.0", "2025-11-25 10:00")


@pytest.fixture
def full(
    bare: ReportInput, strung: Shape, unstrung: Shape, field: Field, plan: Plan,
    bench: Bench, cuts: tuple[Cut, ...], law: Law,
) -> ReportInput:  # fmt: skip
    return replace(
        bare, scans=(ScanMade("001-strung.h5", "strung", "2025-11-24T09:00:00+00:00"),),
        verified=True, next_words="one more light pass", strung=strung, unstrung=unstrung,
        field=field, plan=plan, bench=bench, cuts=cuts, law=law, rig="garage-rail",
        calibrations=("rail map of 2025-11-20, u 0.8 µm",),
    )  # fmt: skip


def test_sections_stand_in_the_order_a_customer_reads(full: ReportInput) -> None:
    reader = _read(report_html(full))
    assert reader.headings == [
        # the first page
        "Found", "Done", "To expect",
        "What came in", "What was measured", "What was done", "Before and after",
        "What to expect", "Rig and calibrations used", "For the file drawer",
        "The plan's grounds", "The neck in pictures", "The numbers",
    ]  # fmt: skip
    text = " ".join(reader.text)
    for words in (
        "walnut parlour", "garage-rail", "rail map of 2025-11-20", "neckform 0.1.0",
        "Lower fret 9 under strings 3 and 4 by 0.03 mm.", "one more light pass", "The beam does",
        "Measured 24 November 2025.", "24 November 2025, 09:00",
    ):  # fmt: skip
        assert words in text


def test_the_first_page_comes_before_any_table_but_its_own(full: ReportInput) -> None:
    page = report_html(full)
    marks = ("<h1>walnut parlour", "<h2>Found", "<table", "<svg", "What came in", "<dl")
    first = [page.index(mark) for mark in marks]
    assert first == sorted(first)


def test_report_of_a_new_job(bare: ReportInput) -> None:
    reader = _read(report_html(bare))
    assert "Nothing yet: no scan was read." in reader.text
    assert "For the file drawer" not in reader.headings
    assert not any(name == "svg" for name, _ in reader.tags)


def test_report_without_the_unstrung_scan(bare: ReportInput, strung: Shape) -> None:
    reader = _read(report_html(replace(bare, strung=strung)))
    text = " ".join(reader.text)
    assert "Measured in one state so far" in text
    assert "The strings' pull" not in text
    for title in ("What was done", "Before and after", "What to expect"):
        assert title not in reader.headings
    # from above twice, six strings, heights
    assert sum(name == "svg" for name, _ in reader.tags) == 2 + 6 + 1


def test_before_the_work_is_done_cautions_stand_with_it(full: ReportInput) -> None:
    page = report_html(replace(full, verified=False, cuts=(), law=None))
    assert "<h2>What is to be done</h2>" in page
    section = page.split("<h2>What is to be done</h2>")[1].split("<h2>")[0]
    assert section.index("A cut cannot be undone.") < section.index("Lower fret 9")
    assert "A cut cannot be undone." not in report_html(full)


def test_infeasible_plan_shows_no_cuts(full: ReportInput, failing: Plan) -> None:
    text = " ".join(_read(report_html(replace(full, plan=failing))).text)
    assert "Replace fret 2" in text
    assert "Nothing. No plan meets everything" in text
    assert "Rod, nut and saddles" not in text
    assert "What to expect" not in text


def test_names_stay_text(full: ReportInput, six: Instrument, plan: Plan) -> None:
    evil = '<script>alert("x")</script>'
    given = replace(
        full, job=evil, instrument=replace(six, name=evil), rig=evil, calibrations=(evil,),
        next_words=evil, program=evil, scans=(ScanMade(evil, evil, evil),),
        plan=replace(plan, playing=replace(plan.playing, name=evil)),
    )  # fmt: skip
    page = report_html(given)
    assert "<script" not in page
    reader = _read(page)
    assert not any(name == "script" for name, _ in reader.tags)
    assert "".join(reader.text).count(evil) >= 8


def test_nothing_is_loaded_and_nothing_runs(full: ReportInput) -> None:
    page = report_html(full)
    reader = _read(page)
    assert not re.search(r"https?://|url\(|@import", page)
    for name, attributes in reader.tags:
        assert name not in ("script", "link", "img", "iframe", "object", "base", "a")
        assert not any(key.startswith("on") or key in ("src", "href") for key in attributes)
    policy = next(a for _, a in reader.tags if a.get("http-equiv") == "Content-Security-Policy")
    assert str(policy["content"]).startswith("default-src 'none'")


def test_light_dark_and_paper(bare: ReportInput) -> None:
    page = report_html(bare)
    assert "prefers-color-scheme: dark" in page
    assert "@media print" in page
    assert "@page" in page


def test_drawings_are_well_formed_and_named(full: ReportInput) -> None:
    drawings = re.findall(r"<svg.*?</svg>", report_html(full), re.DOTALL)
    # room before and after, both states from above, cuts, planned against achieved; then in the
    # drawer room as planned, off their neighbours, six strings, heights
    assert len(drawings) == 2 + 2 + 1 + 1 + 1 + 1 + 6 + 1
    for drawing in drawings:
        root = ET.fromstring(drawing)
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-label"] == root.findtext("title")
        assert len(root.findtext("desc") or "") > 20
        assert not re.search(r"nan|inf[^e]", drawing)


def test_margins_are_told_by_signs_too(full: ReportInput) -> None:
    page = report_html(full)
    assert ">-3</text>" in page
    assert ">!</text>" in page
    assert ">?</text>" in page
    assert "<title>over fret 8</title>" in page
    assert "! buzzes" in page


def test_unknown_heights_are_empty_cells(
    full: ReportInput, unstrung: Shape, one: Callable[[str, str], Any]
) -> None:
    height, top = unstrung.height_mm.copy(), unstrung.top_mm.copy()
    height[3, 2], top[3, 2] = np.nan, np.nan
    page = report_html(replace(full, unstrung=replace(unstrung, height_mm=height, top_mm=top)))
    cells = one(page, "Fret heights")
    assert cells.words().count("–") == 1
    assert len(cells.paths("none")) == 1
    assert not any("nan" in drawing for drawing in re.findall(r"<svg.*?</svg>", page, re.DOTALL))


def test_nothing_known_at_all(bare: ReportInput, unstrung: Shape) -> None:
    nothing = np.full((22, 6), np.nan)
    blind = replace(unstrung, height_mm=nothing, top_mm=nothing, u_top_mm=nothing)
    text = " ".join(_read(report_html(replace(bare, unstrung=blind))).text)
    assert "No fret's height is known." in text


def test_scaled_cells() -> None:
    cells, legend = scaled_cells(np.array([[0.0, 3.0], [6.0, np.nan]]), 1, "mm")
    assert [[c.kind for c in row] for row in cells] == [["q0", "q5"], ["q3", "none"]]
    assert [legend[0].text, legend[-1].text] == ["0.0 to 1.0", "5.0 to 6.0 mm"]
    assert len(legend) == 6
    _, one = scaled_cells(np.full((1, 2), 4.0), 1, "mm")
    assert [entry.text for entry in one] == ["4.0 mm"]


@pytest.mark.parametrize(
    ("low", "high", "about", "wanted"),
    [
        (0.0, 470.0, 10, [0, 50, 100, 150, 200, 250, 300, 350, 400, 450]),
        (-160.0, 20.0, 4, [-150, -100, -50, 0]),
        (1.0, 1.0, 4, [1.0]),
    ],
)
def test_ticks(low: float, high: float, about: int, wanted: list[float]) -> None:
    assert ticks(low, high, about) == pytest.approx(wanted)


def test_tag() -> None:
    assert tag("p", "a < b & c", class_='x"y') == '<p class="x&quot;y">a &lt; b &amp; c</p>'
    assert tag("p", Html("<b>x</b>"), title=None) == "<p><b>x</b></p>"
    assert tag("rect", x=1.52, stroke_width=2.0) == '<rect x="1.5" stroke-width="2"/>'
