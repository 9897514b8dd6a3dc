"""The report's pictures of the neck."""

from __future__ import annotations

from daq.report.figures import heights_figure
from daq.report.html import Html, joined, tag
from daq.report.record import ReportInput
from daq.report.views import across_figure, plan_figure, profiles_figure, rocker_figure, wear_figure


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
        heights_figure(given.shapes[-1]),
        wear_figure(given.wear) if given.wear is not None else Html(""),
        across_figure(given.across, given.arcs, it),
    )
