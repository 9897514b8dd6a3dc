"""The cut sheet's parts: boxes to tick, what to file, how to check, room for what was read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.after.verify import Left
from analysis.bench.expect import Reading
from analysis.bench.order import FileStep
from analysis.bench.sheet import Bench
from analysis.plan.plan import Plan
from daq.figures.html import Html, bullet_list, joined, tag
from daq.text.bench import bench_notes, bench_steps, check_cells, file_notes, step_cells
from daq.text.expect import listen_sentences, reading_name, worst_u_mm
from daq.text.words import counted, fixed

#: Stands where somebody ticks what is done.
BOX = "☐"
#: Stands where somebody writes what was read; drawn as a line.
READ = tag("span", "", class_="read")


def work_part(bench: Bench, plan: Plan) -> Html:
    """The steps in their order, a box each, then what the beam is good for."""
    steps = [
        tag("li", tag("span", BOX, class_="box"), tag("span", step))
        for step in bench_steps(bench, plan)
    ]
    notes = bench_notes(bench) if plan.remove_mm.any() else []
    return joined(tag("h2", "In this order"), tag("ol", *steps, class_="ticks"), bullet_list(notes))


def file_part(bench: Bench) -> Html:
    """For each fret in its turn: what to take by string, how it is checked, what was read."""
    if not bench.steps:
        return Html("")
    strings = bench.steps[0].take_um.size
    return joined(
        tag("h2", f"With the file: {counted(len(bench.steps), 'fret')}, from the top down"),
        tag(
            "table",
            tag("caption", "One fret at a time: take, check, write down, tick. A dot: nothing."),
            _heads(strings, "fret", ""),
            *(_fret(step) for step in bench.steps),
            class_="file",
        ),
        bullet_list([_sure(bench), *file_notes(bench.steps)]),
    )


def _heads(strings: int, *before: str) -> Html:
    heads = [tag("th", name, scope="col", rowspan="2") for name in before]
    over = tag("tr", *heads, tag("th", "string", scope="colgroup", colspan=str(strings)))
    numbers = tag("tr", *(tag("th", str(s), scope="col") for s in range(1, strings + 1)))
    return tag("thead", over, numbers)


def _fret(step: FileStep) -> Html:
    """Four lines that stay together."""
    written = [READ if take > 0 else "" for take in step.take_um]
    lines: list[tuple[str, Sequence[str], str]] = [
        ("mean to take, µm", step_cells(step), "take"),
        ("fret then, mm", _heights(step), ""),
        (f"gap with {step.feet[0]} and {step.feet[1]}, µm", check_cells(step), ""),
        ("read", written, "written"),
    ]
    name = tag(
        "th", tag("span", BOX, class_="box"), f" {step.fret}", scope="rowgroup",
        rowspan=str(len(lines)), class_="which",
    )  # fmt: skip
    rows = []
    for n, (what, cells, kind) in enumerate(lines):
        first = [name] if n == 0 else []
        rows.append(
            tag("tr", *first, tag("th", what, scope="row"), *(tag("td", c) for c in cells),
                class_=kind or None)
        )  # fmt: skip
    return tag("tbody", *rows)


def _heights(step: FileStep) -> list[str]:
    pairs = zip(step.take_um, step.height_after_mm, strict=True)
    return [fixed(float(high), 2) if take > 0 else "." for take, high in pairs]


def _sure(bench: Bench) -> str:
    u = max(float(np.max(s.u_height_mm, where=s.take_um > 0, initial=0.0)) for s in bench.steps)
    return f"Fret heights are over the board, ± {fixed(2.0 * u, 3)} mm or better."


def readings_part(bench: Bench) -> Html:
    """What each gauge is expected to show by string, and under it room for what was read."""
    expected = bench.expected
    return joined(
        tag("h2", "What the gauges should show, mm"),
        _reading_table("Before the strings go on, the rod set for playing", expected.unstrung),
        _reading_table("Strings at pitch, saddles set", expected.strung),
        bullet_list(listen_sentences(expected)),
    )


def _reading_table(caption: str, readings: tuple[Reading, ...]) -> Html:
    strings = readings[0].value_mm.size
    bodies = []
    for one in readings:
        name = f"{reading_name(one)} (± {fixed(2.0 * worst_u_mm(one), 2)})"
        values = [tag("td", fixed(value, 2)) for value in one.value_mm.tolist()]
        bodies.append(
            tag(
                "tbody",
                tag("tr", tag("th", name, scope="row"), *values),
                tag("tr", tag("th", "read", scope="row"), *[tag("td", READ)] * strings,
                    class_="written"),
            )
        )  # fmt: skip
    return tag("table", tag("caption", caption), _heads(strings, ""), *bodies, class_="gauges")


def left_part(left: Sequence[Left], strings: int) -> Html:
    """Another pass: what verifying found left, fret by fret."""
    at = {(one.fret, one.string): one for one in left}
    bodies = []
    for fret in sorted({one.fret for one in left}):
        here = [at.get((fret, s)) for s in range(1, strings + 1)]
        aims = ["." if one is None else fixed(one.aim_um, 0) for one in here]
        stays = [
            "." if one is None else f"{fixed(one.left_um, 0)} ± {fixed(2.0 * one.u_left_um, 0)}"
            for one in here
        ]
        name = tag(
            "th", tag("span", BOX, class_="box"), f" {fret}", scope="rowgroup", rowspan="2",
            class_="which",
        )  # fmt: skip
        bodies.append(
            tag(
                "tbody",
                tag("tr", name, tag("th", "mean to take, µm", scope="row"),
                    *(tag("td", one) for one in aims), class_="take"),
                tag("tr", tag("th", "left, µm", scope="row"), *(tag("td", one) for one in stays)),
            )
        )  # fmt: skip
    said = [
        "By what earlier cuts took: mean to take so much, and what is left comes off. Where it "
        "says 0 the hand scatters by as much as is left: leave it.",
        "Then scan the neck unstrung and verify, before the strings.",
    ]
    return joined(
        tag("h2", "One more light pass, only here"),
        tag(
            "table",
            tag("caption", "One fret at a time: take, tick. A dot: nothing."),
            _heads(strings, "fret", ""),
            *bodies,
            class_="file",
        ),
        bullet_list(said),
    )
