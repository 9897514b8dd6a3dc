"""The sheet that goes to the bench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.bench.sheet import Bench
from analysis.instrument import Instrument
from analysis.plan.plan import Plan
from daq.report.benchsheet import BOX, READ, bench_sheet
from daq.report.record import ReportInput
from daq.text.bench import bench_steps


@pytest.fixture
def given(six: Instrument, plan: Plan, bench: Bench) -> ReportInput:
    return ReportInput("<mine>", six, "neckform", "today", plan=plan, bench=bench)


def test_every_step_and_every_fret_has_a_box(given: ReportInput, bench: Bench, plan: Plan) -> None:
    sheet = bench_sheet(given)
    assert sheet.count(BOX) == len(bench_steps(bench, plan)) + len(bench.steps)
    assert "&lt;mine&gt;" in sheet


def test_there_is_room_to_write_what_was_read(given: ReportInput, bench: Bench) -> None:
    gauges = len(bench.expected.unstrung) + len(bench.expected.strung)
    assert bench_sheet(given).count(READ) == 6 * gauges + len(bench.steps)


def test_cautions_stand_on_the_sheet_itself(given: ReportInput) -> None:
    sheet = bench_sheet(given)
    for word in ("cannot be undone", "metal dust", "if it resists, stop", "trained person decides"):
        assert word in sheet


def test_no_sheet_without_work(given: ReportInput, plan: Plan, bench: Bench) -> None:
    assert bench_sheet(replace(given, plan=replace(plan, feasible=False))) == ""
    assert bench_sheet(replace(given, bench=None)) == ""
    still = replace(plan, remove_mm=np.zeros_like(plan.remove_mm))
    assert "no beam is needed" in bench_sheet(replace(given, plan=still))
