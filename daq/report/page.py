"""The report as one page."""

from __future__ import annotations

from daq.figures.html import Html, bullet_list, joined, tag
from daq.report.after import verify_section
from daq.report.benchsheet import bench_sheet
from daq.report.found import found_section
from daq.report.instrument import instrument_section
from daq.report.numbers import numbers_section
from daq.report.pictures import pictures_section
from daq.report.record import ReportInput
from daq.report.short import short_section
from daq.report.style import STYLE
from daq.report.work import expect_section, plan_section
from daq.text.cautions import caution_before_cut, caution_strings
from daq.text.repeats import combined_line

#: Nothing may be loaded from anywhere: the page is whole.
POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def report_html(given: ReportInput) -> str:
    """A whole HTML document without scripts or links; sections that have no data are left out.

    Every name and sentence is escaped.
    """
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=POLICY),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", f"{given.job}: neck report"),
        tag("style", Html(STYLE)),
    )
    body = tag(
        "body",
        _top(given),
        short_section(given),
        found_section(given),
        pictures_section(given),
        plan_section(given),
        bench_sheet(given),
        verify_section(given),
        expect_section(given),
        numbers_section(given),
        instrument_section(given),
        _rig_section(given),
        _cautions(),
        tag("p", f"Written by {given.program}, {given.made}.", class_="note"),
    )
    return f"<!doctype html>\n{tag('html', head, body, lang='en')}\n"


def _top(given: ReportInput) -> Html:
    facts = [("instrument", given.instrument.name), ("report made", given.made)]
    facts += [("work began", given.started)] if given.started else []
    facts += [("work ended", given.finished)] if given.finished else []
    facts.append(("program", given.program))
    parts = [joined(tag("dt", name), tag("dd", value)) for name, value in facts]
    return joined(tag("h1", given.job), tag("dl", *parts, class_="facts"))


def _rig_section(given: ReportInput) -> Html:
    lines = [f"Rig: {given.rig}"] if given.rig else []
    for state, repeats in given.repeats.items():
        lines += [f"{state}: {line}" for line in [combined_line(repeats)] if line]
    lines += given.calibrations
    if not given.calibrations:
        lines.append("No calibration was on record: the rig's own errors are in the numbers.")
    return joined(tag("h2", "Rig and calibrations used"), bullet_list(lines))


def _cautions() -> Html:
    return joined(
        tag("h2", "Cautions"),
        tag("div", tag("p", caution_before_cut()), tag("p", caution_strings()), class_="caution"),
    )
