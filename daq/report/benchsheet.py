"""The cut sheet's parts: boxes to tick, what to file, how to check, room for what was read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

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
BOX: Final = "☐"
#: Stands where somebody writes what was read; the cell's own lines are the form.
READ: Final = tag("span", "", class_="read")
#: With no more strings than this two frets stand side by side.
_FEW = 7

#: What a line is, its cell by string, its style class.
Line = tuple[str, Sequence[str], str | None]


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
    return joined(
        tag("h2", f"With the file: {counted(len(bench.steps), 'fret')}, one at a time"),
        bullet_list([*file_notes(bench.steps), _sure(bench)]),
        _frets([_fret(step) for step in bench.steps], bench.steps[0].take_um.size),
    )


def left_part(left: Sequence[Left], strings: int) -> Html:
    """Another pass: what verifying found left, fret by fret."""
    at = {(one.fret, one.string): one for one in left}
    tables = []
    for fret in sorted({one.fret for one in left}):
        here = [at.get((fret, s)) for s in range(1, strings + 1)]
        aims = ["." if one is None else fixed(one.aim_um, 0) for one in here]
        stays = ["." if one is None else fixed(one.left_um, 0) for one in here]
        bands = ["." if one is None else fixed(2.0 * one.u_left_um, 0) for one in here]
        lines: list[Line] = [
            ("mean to take", aims, "take"),
            ("left", stays, None),
            ("±", bands, None),
        ]
        tables.append(_fret_table(fret, lines))
    said = [
        "In µm. Mean to take so much, and by what earlier cuts took what is left comes off. Where "
        "it says 0 the hand scatters by as much as is left: leave it.",
        "Then scan the neck unstrung and verify, before the strings.",
    ]
    return joined(
        tag("h2", "One more light pass, only here"), bullet_list(said), _frets(tables, strings)
    )


def _fret(step: FileStep) -> Html:
    """Take, check, write down, tick."""
    written = [READ if take > 0 else "" for take in step.take_um]
    gap = f"gap, {step.feet[0]}, {step.feet[1]}"
    lines: list[Line] = [
        ("mean to take", step_cells(step), "take"),
        ("height then", _heights(step), None),
        (gap, check_cells(step), None),
        ("read", written, "written"),
    ]
    return _fret_table(step.fret, lines)


def _frets(tables: Sequence[Html], strings: int) -> Html:
    return tag("div", *tables, class_="frets few" if strings <= _FEW else "frets")


def _fret_table(fret: int, lines: Sequence[Line]) -> Html:
    """One fret; it stays on its sheet."""
    rows = [
        tag("tr", tag("th", what, scope="row"), *(tag("td", c) for c in cells), class_=kind)
        for what, cells, kind in lines
    ]
    return tag(
        "table",
        tag("caption", tag("span", BOX, class_="box"), tag("b", f" Fret {fret}")),
        _heads(len(lines[0][1])),
        tag("tbody", *rows),
        class_="fret",
    )


def _heads(strings: int, *more: str) -> Html:
    numbers = (tag("th", str(s), scope="col") for s in [*range(1, strings + 1), *more])
    return tag("thead", tag("tr", tag("th", "string", scope="col"), *numbers))


def _heights(step: FileStep) -> list[str]:
    pairs = zip(step.take_um, step.height_after_mm, strict=True)
    return [fixed(float(high), 2) if take > 0 else "." for take, high in pairs]


def _sure(bench: Bench) -> str:
    u = max(float(np.max(s.u_height_mm, where=s.take_um > 0, initial=0.0)) for s in bench.steps)
    return (
        "What to take and gaps in µm; heights over the board in mm, ± "
        f"{fixed(2.0 * u, 3)} or better. A dot: nothing."
    )


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
        band = tag("td", fixed(2.0 * worst_u_mm(one), 2))
        values = [tag("td", fixed(value, 2)) for value in one.value_mm.tolist()]
        room = [tag("td", READ)] * strings
        bodies.append(
            tag(
                "tbody",
                tag("tr", tag("th", reading_name(one), scope="row"), *values, band),
                tag("tr", tag("th", "read", scope="row"), *room, tag("td"), class_="written"),
            )
        )
    return tag("table", tag("caption", caption), _heads(strings, "±"), *bodies, class_="gauges")
