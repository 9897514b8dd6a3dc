"""The job's report, from whatever the job holds by now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from analysis.neck.shape import Shape
from daq.documents.stored_check import stored_cuts, stored_law
from daq.documents.stored_strung import stored_strung
from daq.errors import InputError
from daq.reading.budget import budgets_of
from daq.reading.doubts import doubts_of
from daq.reading.job import both_states, job_shape
from daq.reading.measured import measured
from daq.reading.neck import ReadScan, rig_of
from daq.reading.probe import tip_of
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan
from daq.record.scan import read_scan
from daq.report.page import report_html
from daq.report.record import ReportInput
from daq.steps.bench import stored_bench
from daq.steps.plan_again import plan_again
from daq.steps.planning import read_plan
from daq.steps.recording import now, program
from daq.workshop.job import Job
from daq.workshop.place import Workshop
from daq.workshop.store import atomic_write_text, read_group


def write_report(workshop: Workshop, job: Job) -> Path:
    """One HTML file beside the job's scans; written anew each time.

    Raises InputError where the job holds no scan yet.
    """
    if not job.scans():
        raise InputError(
            f"job {job.name}: holds no scan to report; make one with: "
            f"neckform scan {job.name} --rig RIG.yaml --state strung"
        )
    given = ReportInput(job.name, job.instrument().record, program(), now())
    reader = JobReader(workshop, job)
    given = _with_work(reader, _with_shapes(reader, given))
    times = [read_scan(scan.path).started for scan in job.scans()]
    given = replace(given, started=times[0], finished=times[-1])
    atomic_write_text(job.report_path, report_html(given))
    return job.report_path


def _with_shapes(reader: JobReader, given: ReportInput) -> ReportInput:
    """What was measured: both states together where there are both."""
    workshop, job = reader.workshop, reader.job
    if job.latest_scan("strung") and job.latest_scan("unstrung"):
        both = both_states(reader)
        given = replace(given, field=both.field, findings=both.findings)
        given = _with_neck(given, both.strung_then, both.strung_scan)
        given = _with_neck(given, both.paired, both.paired_scan)
        given = _with_budget(workshop, given, both.strung_then, both.strung_scan)
        return _with_rig(given, both.unstrung_scan)
    state = "strung" if job.latest_scan("strung") else "unstrung"
    shape, read = job_shape(reader, state)
    given = _with_neck(given, shape, read)
    return _with_rig(_with_budget(workshop, given, shape, read), read)


def _with_neck(given: ReportInput, shape: Shape, read: CombinedScan) -> ReportInput:
    """One state's shape and what its scans show of it."""
    state, found = shape.state, measured(given.instrument, shape, read)
    known = {one.fret for one in given.loose}
    given = replace(
        given,
        across=found.across,
        along={**given.along, state: found.along},
        arcs={**given.arcs, state: read.neck.arc},
        loose=(*given.loose, *(one for one in found.loose if one.fret not in known)),
        repeats={**given.repeats, state: read.repeats},
    )
    if state == "strung":
        return replace(given, strung=shape)
    tip = tip_of(rig_of(read.scan), read.calibrations.probe)
    return replace(given, unstrung=shape, wear=found.wear, tip=tip)


def _with_budget(
    workshop: Workshop, given: ReportInput, shape: Shape, read: ReadScan
) -> ReportInput:
    store = workshop.calibrations(rig_of(read.scan).name)
    return replace(given, budgets=budgets_of(shape, read.scan, store))


def _with_rig(given: ReportInput, read: ReadScan) -> ReportInput:
    rig = rig_of(read.scan)
    tip = (
        f"tip radius {rig.sensor.tip_radius_mm:g} mm"
        if rig.sensor.tip_radius_mm is not None
        else f"spot {rig.sensor.spot_mm:g} mm"
    )
    words = f"{rig.name}, {rig.sensor.kind} sensor, {tip}, {rig.sensor.rate_hz} readings a second"
    return replace(given, rig=words, calibrations=read.calibrations.described)


def _with_work(reader: JobReader, given: ReportInput) -> ReportInput:
    """What was planned and, where it was verified, what came off."""
    plan_path = reader.job.latest_plan()
    if plan_path is None:
        return given
    document = read_plan(plan_path)
    again = plan_again(reader, document)
    plan, both, weighed = again.plan, again.both, again.weighed
    given = replace(given, plan=plan, bench=stored_bench(both, plan, document))
    given = replace(
        given,
        weighed=weighed,
        doubts=doubts_of(both, weighed.hanging),
        tight=again.tight,
        rod=again.rod,
        plan_same=again.same,
    )
    return _checked(reader.job, plan_path, given)


def _checked(job: Job, plan_path: Path, given: ReportInput) -> ReportInput:
    """With the latest verification, if it is of this plan."""
    check_path = job.latest_check()
    if check_path is None:
        return given
    document: Mapping[str, Any] = read_group(check_path)
    if document.get("plan") != plan_path.name:
        return given
    return replace(
        given,
        cuts=stored_cuts(document),
        law=stored_law(document),
        strung_end=stored_strung(document, given.instrument),
        next_words=str(document["next"]),
    )
