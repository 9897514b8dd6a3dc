"""Rig and calibrations used."""

from __future__ import annotations

from daq.figures.html import Html, bullet_list, joined, tag
from daq.report.camein import scans_table
from daq.report.dates import moment_words
from daq.report.record import ReportInput
from daq.text.repeats import combined_line


def rig_section(given: ReportInput) -> Html:
    """What measured, and what undid its own errors."""
    lines = [f"Rig: {given.rig}"] if given.rig else []
    for state, repeats in given.repeats.items():
        lines += [f"{state}: {line}" for line in [combined_line(repeats)] if line]
    lines += given.calibrations
    if not given.calibrations:
        lines.append("No calibration was on record: the rig's own errors are in the numbers.")
    lines.append(f"Report written by {given.program}, {moment_words(given.made)}.")
    return joined(tag("h2", "Rig and calibrations used"), bullet_list(lines), scans_table(given))
