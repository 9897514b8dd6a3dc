"""The first page's doubts: what may be otherwise than is said, in plain words."""

from __future__ import annotations

from collections.abc import Iterable

from daq.report.record import ReportInput
from daq.text.words import counted, named


def unsure_sentences(given: ReportInput) -> list[str]:
    """What it would change first; nothing where nothing is in doubt."""
    doubts = given.doubts
    said = []
    if not given.plan_same:
        said.append("Calibrations have changed since the plan: plan again before more is filed.")
    loose = [one.fret for one in doubts.frets if one.why == "loose"]
    if loose:
        said.append(f"{_frets(loose)} may be loose: no height there holds before it is seated.")
    if doubts.findings:
        said.append("Between the scans something moved that is no bending: see what was measured.")
    dents = {one.suspect.fret for one in doubts.tops if one.suspect.why == "dent"}
    if dents:
        said.append(f"{_frets(dents)} may be dented deeper than the tip could feel.")
    others = sum(one.suspect.why != "dent" for one in doubts.tops)
    if others:
        said.append(f"{counted(others, 'fret top')} less well known than the rest.")
    said += [f"{remark[0].upper()}{remark[1:]}." for remark in doubts.remarks[:1]]
    return said


def _frets(frets: Iterable[int]) -> str:
    words = named("fret", frets)
    return f"{words[0].upper()}{words[1:]}"
