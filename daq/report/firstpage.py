"""The first page: what a customer wants to know in a minute, a table and a picture or two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from analysis.plan.clearances import Clearance
from analysis.plan.room import room_of
from daq.figures.boardmap import cell_map
from daq.figures.cells import figure, margins_figure
from daq.figures.html import Html, bullet_list, joined, tag
from daq.figures.layers import room
from daq.figures.planfigures import in_the_way_figure
from daq.figures.views import plan_figure, wear_figure
from daq.report.dates import day_words, days_words
from daq.report.glance import glance_table
from daq.report.plain import expect_sentences, found_sentences, status_sentence, work_sentences
from daq.report.record import ReportInput
from daq.report.stage import Stage, is_done, margins_now, stage_of
from daq.report.unsure import unsure_sentences
from daq.text.cures import cure_sentences
from daq.text.words import counted

#: Doubts and cures told here; the others stand further on.
_TOLD = 2


def first_page(given: ReportInput) -> Html:
    """Instrument, status, what was wrong, what was done, what to expect, what is not sure."""
    lines = [
        ("Found", found_sentences(given)),
        *_work(given),
        ("Not sure", unsure_sentences(given)),
    ]
    parts = [
        tag("div", tag("h2", name), bullet_list(said), class_="told")
        for name, said in lines
        if said
    ]
    return tag(
        "section",
        tag("p", "Neck report", class_="kind"),
        tag("h1", given.instrument.name),
        tag("p", about(given), class_="about"),
        tag("p", tag("strong", status_sentence(given)), class_="status"),
        tag("div", *parts, class_="minute") if parts else Html(""),
        glance_table(given),
        _pictures(given),
        class_="first",
    )


def about(given: ReportInput) -> str:
    """Job, strings and frets, days, in a line."""
    it = given.instrument
    days = days_words([one.begun for one in given.scans])
    measured = f" Measured {days}." if days else ""
    return (
        f"Job {given.job}: {counted(len(it.strings), 'string')}, {counted(it.frets, 'fret')}."
        f"{measured} Report of {day_words(given.made)}."
    )


def _work(given: ReportInput) -> list[tuple[str, list[str]]]:
    plan = given.plan
    if plan is None:
        return []
    if not plan.feasible:
        said = ["Nothing: half a plan costs metal and cures nothing."]
        return [("Done", said), ("Would help", cure_sentences(plan)[:_TOLD])]
    title = "Done" if is_done(given) else "To do"
    return [
        (title, work_sentences(given, plan)),
        ("To expect", expect_sentences(given, plan)),
    ]


def _pictures(given: ReportInput) -> Html:
    """Where it buzzes, before and after; without a plan, the neck as it was found."""
    plan, stage = given.plan, stage_of(given)
    if plan is None:
        return _neck(given)
    if stage is Stage.NO_PLAN:
        if plan.short or plan.blocking:
            return in_the_way_figure(plan, given.doubts)
        return margins_figure(plan.now, "Room under the strings as it came in")
    after = {
        Stage.PLANNED: "as planned",
        Stage.FILED: "as filed, once it is strung",
        Stage.ENDED: "now",
    }[stage]
    return _rooms({"as it came in": plan.now, after: margins_now(given)}, given)


def _rooms(times: Mapping[str, Sequence[Clearance]], given: ReportInput) -> Html:
    """Maps of all places to be read one over the other, with one legend."""
    it = given.instrument
    words = (
        "Rows: strings; columns: where they are held. Numbers: room to spare over the worst fret "
        "beyond, hundredths of a millimetre."
    )
    drawn, last = [], list(times)[-1]
    for when, margins in times.items():
        layer = room(room_of(margins, it.frets, len(it.strings)), f"Room under the strings {when}")
        legend = layer.legend if when == last else ()
        map_of = cell_map(layer.title, words, layer.names, layer.cells, legend, layer.corner)
        drawn.append(joined(tag("p", layer.title, class_="name"), map_of))
    return tag("div", figure("Where it buzzes", words, *drawn), class_="rooms")


def _neck(given: ReportInput) -> Html:
    """Its wear where that was seen, else its tops from above."""
    if not given.shapes:
        return Html("")
    if given.wear is not None:
        return wear_figure(given.wear)
    return plan_figure(given.shapes[:1], given.instrument)
