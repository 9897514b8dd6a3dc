"""The sheet that goes to the bench."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from analysis.after.verify import Left
from analysis.bench.sheet import Bench
from analysis.instrument import Instrument
from analysis.plan.plan import Plan
from daq.report.benchsheet import BOX, READ
from daq.report.record import ReportInput
from daq.report.sheet import sheet_html
from daq.text.bench import bench_steps, step_cells


@pytest.fixture
def given(six: Instrument, plan: Plan, bench: Bench) -> ReportInput:
    return ReportInput("<mine>", six, "neckform", "today", plan=plan, bench=bench)


def test_every_step_and_every_fret_has_a_box(given: ReportInput, bench: Bench, plan: Plan) -> None:
    sheet = sheet_html(given)
    assert sheet.count(BOX) == len(bench_steps(bench, plan)) + len(bench.steps)
    assert "Cut sheet: &lt;mine&gt;" in sheet


def test_frets_stand_in_the_order_they_are_filed(given: ReportInput, bench: Bench) -> None:
    filed = re.findall(r"<b> Fret (\d+)</b>", sheet_html(given))
    assert [int(fret) for fret in filed] == [step.fret for step in bench.steps]


def test_what_to_take_is_what_the_bench_says(given: ReportInput, bench: Bench) -> None:
    rows = re.findall(r'<tr class="take">(.*?)</tr>', sheet_html(given))
    taken = [re.findall(r"<td>(.*?)</td>", row) for row in rows]
    assert taken == [step_cells(step) for step in bench.steps]


def test_there_is_room_to_write_what_was_read(given: ReportInput, bench: Bench) -> None:
    gauges = len(bench.expected.unstrung) + len(bench.expected.strung)
    places = sum(int(np.count_nonzero(step.take_um)) for step in bench.steps)
    assert sheet_html(given).count(READ) == 6 * gauges + places


def test_cautions_stand_on_the_sheet_itself(given: ReportInput) -> None:
    sheet = sheet_html(given)
    for word in ("cannot be undone", "metal dust", "if it resists, stop", "trained person decides"):
        assert sheet.index(word) < sheet.index("In this order")


def test_a_scan_since_the_plan_is_a_caution(given: ReportInput) -> None:
    assert "verify first" not in sheet_html(given)
    assert "003-unstrung.h5. If a fret has been filed since, verify first" in sheet_html(
        replace(given, since=("003-unstrung.h5",))
    )


def test_another_pass_has_only_what_is_left(given: ReportInput) -> None:
    left = (Left(5, 2, 21.2, 0.5, 19.0), Left(7, 3, 4.0, 0.7, 0.0))
    sheet = sheet_html(replace(given, verified=True, left=left))
    assert re.findall(r"<b> Fret (\d+)</b>", sheet) == ["5", "7"]
    assert "<td>19</td>" in sheet
    assert "<td>21</td>" in sheet
    assert "Lay the beam" not in sheet
