"""The bench's work as a document, and read back from one."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from analysis.bench.prop import PROP_FRETS
from analysis.bench.setting import Prop
from analysis.bench.sheet import Bench, bench_of
from analysis.instrument import Instrument
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from daq.documents.bench import bench_document, expect_document
from daq.documents.stored_bench import stored_tools
from daq.errors import FileError


def test_the_beams_part_and_the_files_are_the_plan(bench: Bench, plan: Plan) -> None:
    document = bench_document(bench, plan)
    taken = dict.fromkeys(((9, 3), (9, 4), (16, 1), (16, 2), (16, 3)), 0.0)
    for section in document["sections"]:
        for line in section["lines"]:
            for fret, um in enumerate(line["take_um"], start=section["from_fret"]):
                if um:
                    taken[fret, line["string"]] = max(taken[fret, line["string"]], um)
    for step in document["order"]:
        for cut in step["cuts"]:
            taken[step["fret"], cut["string"]] += cut["take_um"]
    for (fret, string), um in taken.items():
        assert um == pytest.approx(1e3 * plan.remove_mm[fret - 1, string - 1], abs=0.11)
    total = 1e3 * plan.remove_mm.sum()
    left = sum(one["left_um"] for one in document["left"])
    assert document["share"] == pytest.approx(1.0 - left / total, abs=0.005)


def test_what_was_measured_has_its_uncertainty(bench: Bench, plan: Plan) -> None:
    document = bench_document(bench, plan)
    for cut in (cut for step in document["order"] for cut in step["cuts"]):
        for key in ("take_um", "height_after_mm", "gap_um"):
            assert cut[f"u_{key}"] > 0.0
    expect = expect_document(bench.expected)
    for reading in (*expect["unstrung"], *expect["strung"]):
        assert [one["string"] for one in reading["strings"]] == [1, 2, 3, 4, 5, 6]
        assert all(one["u_value_mm"] > 0.0 for one in reading["strings"])
    assert len(expect["listen"]) == 5
    json.dumps([document, expect], allow_nan=False)


def test_a_prop_says_where_and_how_far(bench: Bench, plan: Plan) -> None:
    propped = replace(
        bench,
        prop_tried=True,
        setting=replace(bench.setting, prop=Prop(3, -0.31, 0.01, -0.35), share_without=0.4),
    )
    document = bench_document(propped, plan)
    assert document["prop"] == {
        "under_fret": 3, "lift_at_fret_1_mm": -0.31, "u_lift_at_fret_1_mm": 0.01,
        "lift_at_nut_mm": -0.35,
    }  # fmt: skip
    assert document["prop"]["under_fret"] in PROP_FRETS
    assert document["share_without_prop"] == 0.4


def test_read_back_the_same_work_comes_of_it(
    bench: Bench, plan: Plan, strung: Shape, unstrung: Shape, six: Instrument
) -> None:
    stored = json.loads(json.dumps({"bench": bench_document(bench, plan)}))
    tools = stored_tools(stored, six)
    assert tools is not None
    again = bench_of(strung, unstrung, six, plan, tools)
    assert again.u_cut_um == bench.u_cut_um
    assert [step.fret for step in again.steps] == [step.fret for step in bench.steps]
    for now, then in zip(again.steps, bench.steps, strict=True):
        np.testing.assert_allclose(now.aim_um, then.aim_um, atol=0.051)
        np.testing.assert_allclose(now.remains_um, then.remains_um, atol=0.11)


def test_a_plan_from_before_has_none(six: Instrument) -> None:
    assert stored_tools({"cuts": []}, six) is None


@pytest.mark.parametrize(("key", "value"), [("order", 3), ("beam_mm", "long"), ("u_cut_um", True)])
def test_damaged_documents_are_one_line(
    bench: Bench, plan: Plan, six: Instrument, key: str, value: object
) -> None:
    document = {"bench": {**bench_document(bench, plan), key: value}}
    with pytest.raises(FileError, match=f"stored plan: .*{key}.*make it again"):
        stored_tools(document, six)
