"""The sheet for the bench: a page of its own, boxes to tick, empty fields for what was read."""

from __future__ import annotations

import numpy as np

from analysis.bench.expect import Reading
from analysis.bench.order import FileStep
from analysis.bench.sheet import Bench
from analysis.plan.plan import Plan
from daq.figures.html import Html, bullet_list, joined, table, tag
from daq.report.record import ReportInput
from daq.text.bench import bench_notes, bench_steps, check_cells, file_notes, step_cells
from daq.text.cautions import caution_before_cut, caution_prop, caution_strings
from daq.text.expect import listen_sentences, reading_name, worst_u_mm
from daq.text.words import fixed

#: Stands in a cell until somebody has done what its row says, or read the gauge.
BOX = "☐"
READ = "……"


def bench_sheet(given: ReportInput) -> Html:
    """Black on white, for a bench with dust; nothing where there is no work to carry out."""
    plan, bench = given.plan, given.bench
    if plan is None or bench is None or not plan.feasible:
        return Html("")
    return tag(
        "section",
        tag("h2", f"Bench sheet: {given.job}"),
        tag("p", f"{given.instrument.name}; {given.made}. Tick a line when it is done."),
        _work(bench, plan),
        _file(bench),
        tag("h3", "What to expect on the gauge, and what was read"),
        _readings(bench),
        bullet_list(listen_sentences(bench.expected)),
        _cautions(bench),
        class_="sheet",
    )


def _work(bench: Bench, plan: Plan) -> Html:
    rows = [[BOX, str(n), step] for n, step in enumerate(bench_steps(bench, plan), start=1)]
    notes = bench_notes(bench) if plan.remove_mm.any() else []
    steps = tag("div", table(["", "step", "what to do"], rows), class_="steps")
    return joined(steps, bullet_list(notes))


def _file(bench: Bench) -> Html:
    """One line a fret: what to take under each string, where it ends, how it is checked."""
    if not bench.steps:
        return Html("")
    strings = range(1, bench.steps[0].take_um.size + 1)
    numbers = [str(s) for s in strings]
    takes = [[BOX, str(step.fret), *step_cells(step)] for step in bench.steps]
    ends = [[str(step.fret), *_heights(step)] for step in bench.steps]
    checks = [
        [str(step.fret), f"{step.feet[0]}, {step.feet[1]}",
         *check_cells(step), READ]
        for step in bench.steps
    ]  # fmt: skip
    return joined(
        tag("h3", "With the file, in this order: to mean to take under each string, µm"),
        table(["", "fret", *numbers], takes, close=True),
        tag("h3", f"Where it ends: fret height over the board, mm, {_sure(bench)}"),
        table(["fret", *numbers], ends, close=True),
        tag("h3", "Check: gap that a straightedge over the fret and two others shows, µm"),
        table(["fret", "with", *numbers, "read"], checks, close=True),
        bullet_list(file_notes(bench.steps)),
    )


def _heights(step: FileStep) -> list[str]:
    pairs = zip(step.take_um, step.height_after_mm, strict=True)
    return [fixed(float(high), 2) if take > 0 else "." for take, high in pairs]


def _readings(bench: Bench) -> Html:
    expected = bench.expected
    return joined(
        tag("p", "Before the strings go on, the rod set for playing:"),
        _reading_table(expected.unstrung),
        tag("p", "Strings at pitch, saddles set:"),
        _reading_table(expected.strung),
    )


def _reading_table(readings: tuple[Reading, ...]) -> Html:
    """What each gauge is expected to show by string, and under it room for what was read."""
    strings = range(1, readings[0].value_mm.size + 1)
    rows = []
    for one in readings:
        values = [fixed(value, 2) for value in one.value_mm.tolist()]
        rows.append([reading_name(one), *values, fixed(2.0 * worst_u_mm(one), 2)])
        rows.append(["read", *(READ for _ in strings), ""])
    headers = ["mm under or over string", *(str(s) for s in strings), "±"]
    return table(headers, rows, close=True)


def _sure(bench: Bench) -> str:
    u = max(float(np.max(s.u_height_mm, where=s.take_um > 0, initial=0.0)) for s in bench.steps)
    return f"± {fixed(2.0 * u, 3)} or better"


def _cautions(bench: Bench) -> Html:
    said = [caution_before_cut(), caution_strings()]
    said += [caution_prop()] if bench.setting.prop is not None else []
    return tag("div", *(tag("p", one) for one in said), class_="caution")
