"""The cut sheet: a page or two for the bench, black on white, to be written on."""

from __future__ import annotations

from daq.figures.html import Html, tag
from daq.report.benchsheet import file_part, left_part, readings_part, work_part
from daq.report.caution import caution_box
from daq.report.dates import moment_words
from daq.report.record import ReportInput
from daq.report.sheetstyle import SHEET_STYLE
from daq.report.whole import whole_page
from daq.report.work import plan_doubts
from daq.text.cautions import caution_before_cut, caution_prop, caution_strings
from daq.text.words import listed

#: Ruled lines for what else was seen.
_LINES = 3


def sheet_html(given: ReportInput) -> str:
    """A whole HTML document without scripts; given has a plan and its bench."""
    return whole_page(
        f"{given.job}: cut sheet", SHEET_STYLE, tag("main", _top(given), *_parts(given))
    )


def _top(given: ReportInput) -> Html:
    blank = tag("span", "", class_="blank")
    return tag(
        "header",
        tag("h1", f"Cut sheet: {given.job}"),
        tag("p", f"{given.instrument.name}. Made {moment_words(given.made)}."),
        tag("p", "Done by ", blank, " on ", blank),
    )


def _parts(given: ReportInput) -> list[Html]:
    plan, bench = given.plan, given.bench
    assert plan is not None
    assert bench is not None
    strings = len(given.instrument.strings)
    if given.verified:
        return [_cautions(given), left_part(given.left, strings), _notes()]
    return [
        _cautions(given),
        work_part(bench, plan),
        file_part(bench),
        readings_part(bench),
        _notes(),
    ]


def _cautions(given: ReportInput) -> Html:
    """What may not be overlooked before anything is filed."""
    said = []
    if given.since:
        said.append(
            f"Scanned since this plan was made: {listed(list(given.since))}. If a fret has been "
            "filed since, verify first: this sheet is of the neck before."
        )
    loose = [one.fret for one in given.doubts.frets if one.why == "loose"]
    if loose or not given.plan_same:
        said += plan_doubts(given)[: 1 + len(loose)]
    said += [caution_before_cut(), caution_strings()]
    if given.bench is not None and given.bench.setting.prop is not None:
        said.append(caution_prop())
    return caution_box(*said)


def _notes() -> Html:
    lines = [tag("div", "", class_="rule") for _ in range(_LINES)]
    return tag("section", tag("h2", "Notes"), *lines, class_="notes")
