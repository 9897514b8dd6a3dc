"""The report's pictures of the neck, each with what it says in words."""

from __future__ import annotations

from analysis.form.along import room_mm
from daq.figures.cells import heights_figure
from daq.figures.html import Html, bullet_list, joined, tag
from daq.figures.views import (
    across_figure,
    plan_figure,
    profiles_figure,
    rocker_figure,
    wear_figure,
)
from daq.report.record import ReportInput
from daq.text.across import across_sentences
from daq.text.along import fall_sentence, hump_sentences, s_sentence
from daq.text.wear import wear_sentences


def pictures_section(given: ReportInput) -> Html:
    """From above, along the strings, fret heights, wear, across; nothing before a scan."""
    if not given.shapes:
        return Html("")
    it = given.instrument
    return joined(
        tag("h2", "The neck in pictures"),
        plan_figure(given.shapes, it),
        rocker_figure(given.shapes[-1], it),
        profiles_figure(given.shapes, given.along, it.body_joint_fret),
        bullet_list(_along(given)),
        heights_figure(given.shapes[-1]),
        _wear(given),
        across_figure(given.shapes, given.across, given.arcs, it),
        bullet_list(_across(given)),
    )


def _along(given: ReportInput) -> list[str]:
    """The line as it plays, what stands out of it as the metal is."""
    plays, metal = (given.along.get(shape.state) for shape in (given.shapes[0], given.shapes[-1]))
    if plays is None or metal is None:
        return []
    it = given.instrument
    return [s_sentence(plays), fall_sentence(plays, it), *hump_sentences(metal, room_mm(it))]


def _wear(given: ReportInput) -> Html:
    if given.wear is None:
        return Html("")
    return joined(wear_figure(given.wear), bullet_list(wear_sentences(given.wear, given.tip)))


def _across(given: ReportInput) -> list[str]:
    if given.across is None:
        return []
    return across_sentences(given.across, given.shapes[-1], given.instrument)
