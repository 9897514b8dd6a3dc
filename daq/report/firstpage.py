"""The first page: what a customer wants to know in a minute, a table and a picture or two."""

from __future__ import annotations

from daq.figures.cells import margins_figure
from daq.figures.html import Html, bullet_list, joined, tag
from daq.figures.planfigures import in_the_way_figure
from daq.figures.views import plan_figure, wear_figure
from daq.report.dates import day_words, days_words
from daq.report.glance import glance_table
from daq.report.plain import expect_sentences, found_sentences, status_sentence, work_sentences
from daq.report.record import ReportInput
from daq.report.stage import Stage, is_done, margins_now, stage_of
from daq.text.cures import cure_sentences
from daq.text.doubts import doubt_sentences
from daq.text.words import counted

#: Doubts and cures told here; the others stand further on.
_TOLD = 2


def first_page(given: ReportInput) -> Html:
    """Instrument, status, what was wrong, what was done, what to expect, what is not sure."""
    lines = [
        ("What was found", found_sentences(given)),
        *_work(given),
        ("Not sure", _unsure(given)),
    ]
    parts = [
        tag("div", tag("h3", name), bullet_list(said), class_="told")
        for name, said in lines
        if said
    ]
    return tag(
        "section",
        tag("p", "Neck report", class_="kind"),
        tag("h1", given.instrument.name),
        tag("p", about(given), class_="about"),
        tag("p", tag("strong", status_sentence(given)), class_="status"),
        tag("h2", "In a minute") if parts else Html(""),
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
        return [("What was done", said), ("What would help", cure_sentences(plan)[:_TOLD])]
    title = "What was done" if is_done(given) else "What is to be done"
    return [
        (title, work_sentences(given, plan)),
        ("What to expect", expect_sentences(given, plan)),
    ]


def _unsure(given: ReportInput) -> list[str]:
    """The first sentence of each; the others stand where it is told in full."""
    said = doubt_sentences(given.doubts, len(given.instrument.strings))
    told = [_first(one) for one in said[:_TOLD]]
    if len(said) > _TOLD:
        told.append(f"{counted(len(said) - _TOLD, 'more doubt')}: further on.")
    return told


def _first(said: str) -> str:
    first, stop, _ = said.partition(". ")
    first, colon, _ = first.partition(": ")
    return f"{first}." if stop or colon else first


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
        Stage.PLANNED: "Room under the strings as planned",
        Stage.FILED: "Room under the strings as filed, once strung",
        Stage.ENDED: "Room under the strings now",
    }[stage]
    return joined(
        margins_figure(plan.now, "Room under the strings as it came in"),
        margins_figure(margins_now(given), after),
    )


def _neck(given: ReportInput) -> Html:
    if not given.shapes:
        return Html("")
    if given.wear is not None:
        return joined(plan_figure(given.shapes[:1], given.instrument), wear_figure(given.wear))
    return plan_figure(given.shapes[:1], given.instrument)
