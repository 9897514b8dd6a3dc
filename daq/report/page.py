"""The report as one page."""

from __future__ import annotations

from daq.figures.html import tag
from daq.report.after import after_section
from daq.report.camein import came_in_section
from daq.report.drawer import drawer
from daq.report.expect import expect_section
from daq.report.firstpage import first_page
from daq.report.measured import measured_section
from daq.report.record import ReportInput
from daq.report.rig import rig_section
from daq.report.style import STYLE
from daq.report.whole import whole_page
from daq.report.work import work_section


def report_html(given: ReportInput) -> str:
    """A whole HTML document without scripts or links; sections that have no data are left out.

    Every name and sentence is escaped.
    """
    return whole_page(
        f"{given.instrument.name}: neck report",
        STYLE,
        tag(
            "main",
            first_page(given),
            came_in_section(given),
            measured_section(given),
            work_section(given),
            after_section(given),
            expect_section(given),
            rig_section(given),
            drawer(given),
        ),
    )
