"""What a job holds by now, as its report tells it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from analysis.neck.shape import Shape, unstrung_shape
from daq.documents.stored_check import stored_cuts, stored_law, stored_left
from daq.documents.stored_standing import stored_margins
from daq.documents.stored_strung import stored_strung
from daq.reading.budget import budgets_of
from daq.reading.doubts import doubts_of
from daq.reading.job import BothStates, both_states, job_shape
from daq.reading.measured import measured
from daq.reading.neck import ReadScan, rig_of
from daq.reading.probe import tip_of
from daq.reading.reader import JobReader
from daq.reading.repeats import CombinedScan
from daq.reading.settings import turns_of
from daq.record.scan import read_started
from daq.report.record import ReportInput, ScanMade
from daq.steps.bench import stored_bench
from daq.steps.plan_again import plan_again
from daq.steps.planning import read_plan
from daq.steps.recording import now, program
from daq.workshop.job import STATES, Job
from daq.workshop.numbered import number_of
from daq.workshop.place import Workshop
from daq.workshop.store import read_group


def reported(reader: JobReader) -> ReportInput:
    """Everything there is to tell of a job that holds a scan.

    Of the scans that the latest plan rests on, where there is a plan: that is the neck as it came
    to the work; else of the latest ones. Raises InputError and FileError as reading them does.
    """
    job = reader.job
    made = tuple(
        ScanMade(one.path.name, one.state, read_started(one.path), turns_of(one.path) or 0.0)
        for one in job.scans()
    )
    given = ReportInput(job.name, job.instrument().record, program(), now(), scans=made)
    plan_path = job.latest_plan()
    if plan_path is not None:
        return _with_plan(reader, given, plan_path)
    if all(job.latest_scan(state) for state in STATES):
        return _with_both(reader, given, both_states(reader))
    state = "strung" if job.latest_scan("strung") else "unstrung"
    shape, read = job_shape(reader, state)
    given = _with_neck(given, shape, read)
    return _with_rig(_with_budget(reader.workshop, given, shape, read), read)


def _with_both(reader: JobReader, given: ReportInput, both: BothStates) -> ReportInput:
    """What was measured in both states together."""
    given = replace(given, field=both.field, findings=both.findings)
    given = _with_neck(given, both.strung_then, both.strung_scan)
    given = _with_neck(given, both.paired, both.paired_scan)
    given = _with_budget(reader.workshop, given, both.strung_then, both.strung_scan)
    return _with_rig(given, both.unstrung_scan)


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


def _with_plan(reader: JobReader, given: ReportInput, path: Path) -> ReportInput:
    """What was planned and, where it was verified, what came off."""
    document = read_plan(path)
    again = plan_again(reader, document)
    plan, both, weighed = again.plan, again.both, again.weighed
    # string heights are those that the plan was made for
    given = _with_both(reader, replace(given, instrument=both.instrument), both)
    given = replace(
        given,
        plan=plan,
        bench=stored_bench(both, plan, document),
        weighed=weighed,
        doubts=doubts_of(both, weighed.hanging),
        tight=again.tight,
        rod=again.rod,
        plan_same=again.same,
    )
    return _checked(reader, path, document, given)


def _checked(
    reader: JobReader, plan_path: Path, plan: Mapping[str, Any], given: ReportInput
) -> ReportInput:
    """With the latest verification, if it is of this plan, and what no verification has seen."""
    job, check_path = reader.job, reader.job.latest_check()
    check = read_group(check_path) if check_path is not None else {}
    scans = check.get("scans") if check.get("plan") == plan_path.name else None
    if not isinstance(scans, Mapping):
        return replace(given, since=_since(job, plan["scans"].values()))
    given = replace(
        given,
        verified=True,
        since=_since(job, [*plan["scans"].values(), *scans.values()]),
        cuts=stored_cuts(check),
        law=stored_law(check),
        standing=stored_margins(check, "", given.instrument) if "standing" in check else (),
        left=stored_left(check, given.instrument) if check.get("another_pass") else (),
        strung_end=stored_strung(check, given.instrument),
        finished=_finished(check.get("strung")),
        next_words=str(check["next"]),
    )
    return _with_after(reader, given, scans)


def _finished(strung: object) -> bool:
    return isinstance(strung, Mapping) and strung.get("finished") is True


def _with_after(reader: JobReader, given: ReportInput, scans: Mapping[str, Any]) -> ReportInput:
    """The necks that the verification looked at."""
    folder = reader.job.scans_folder
    after, strung = scans.get("after"), scans.get("strung")
    if after is not None:
        read = reader.whole(folder / after, "unstrung")
        given = replace(given, filed=unstrung_shape(read.neck, given.instrument))
    if strung is not None:
        both = both_states(reader, strung, after or scans["before"])
        given = replace(given, ended=both.strung_then, heights_now=reader.job.instrument().record)
    return given


def _since(job: Job, known: Any) -> tuple[str, ...]:
    """Scans later than all that are known."""
    last = max(number_of(Path(name)) or 0 for name in known if name is not None)
    return tuple(scan.path.name for scan in job.scans() if scan.number > last)
