"""What a person reads, pinned line by line, within 80 columns, in colour only where wanted.

NECKFORM_GOLDEN=write writes the pinned files anew after a change of wording.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from analysis.after.law import Law
from analysis.after.verify import Cut
from analysis.bench.sheet import Bench
from analysis.findings.findings import Finding
from analysis.instrument import Instrument
from analysis.movement.movement import Field
from analysis.neck.shape import Shape
from analysis.plan.plan import Plan
from daq.text.bench import print_bench
from daq.text.cautions import caution_before_cut, caution_before_motion, caution_strings
from daq.text.compare import print_compare
from daq.text.console import make_console, say
from daq.text.heights import print_heights
from daq.text.margins import print_margins
from daq.text.plan import print_plan
from daq.text.summary import print_relief
from daq.text.verify import print_verify

GOLDEN = Path(__file__).parent / "golden"
Page = tuple[Console, io.StringIO]


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> Page:
    """A console into a text, as into a pipe."""
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    stream = io.StringIO()
    return make_console(stream), stream


def _check(name: str, stream: io.StringIO) -> None:
    """The text is the pinned one, plain, and fits."""
    text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def _worn(shape: Shape) -> Shape:
    height, flat, status = shape.height_mm.copy(), shape.flat_mm.copy(), shape.status.copy()
    height[1, 0], flat[1, 0] = 0.47, 0.8
    status[4, 2], status[7, 1] = "doubtful: the two ways disagree", "inferred"
    height[20, 5], status[20, 5] = np.nan, "not seen: too few readings"
    u = shape.u_height_mm.copy()
    u[7, 1] = 0.021
    return replace(shape, height_mm=height, flat_mm=flat, status=status, u_height_mm=u)


def test_heights(page: Page, unstrung: Shape) -> None:
    print_heights(page[0], _worn(unstrung))
    _check("heights", page[1])


def test_heights_of_twelve_strings(
    page: Page, twelve: Instrument, plain_shape: Callable[..., Shape]
) -> None:
    print_heights(page[0], _worn(plain_shape(twelve)))
    _check("heights_twelve", page[1])
    header = next(line for line in page[1].getvalue().splitlines() if line.startswith("fret"))
    assert header.split() == ["fret", *map(str, range(1, 13))]


def test_summary(page: Page, strung: Shape, unstrung: Shape, six: Instrument) -> None:
    print_relief(page[0], unstrung, six)
    print_relief(page[0], strung, six)
    _check("summary", page[1])


def test_compare(page: Page, strung: Shape, unstrung: Shape, field: Field, six: Instrument) -> None:
    found = (
        Finding("loose fret", 5, None, 0.0204, 0.0004),
        Finding("shifted", None, None, -0.213, 0.001),
    )
    print_compare(page[0], strung, unstrung, replace(field, scatter=2.6), six, found)
    _check("compare", page[1])


def test_plan(page: Page, plan: Plan, six: Instrument, law: Law) -> None:
    print_plan(page[0], plan, six, law, details=True)
    _check("plan", page[1])


def test_plan_in_brief(page: Page, plan: Plan, six: Instrument, law: Law) -> None:
    print_plan(page[0], plan, six, law)
    _check("plan_brief", page[1])


def test_infeasible_plan(page: Page, failing: Plan, six: Instrument) -> None:
    print_plan(page[0], failing, six)
    _check("plan_infeasible", page[1])
    assert "Cuts" not in page[1].getvalue().splitlines()


def test_bench(page: Page, bench: Bench, plan: Plan) -> None:
    print_bench(page[0], bench, plan)
    _check("bench", page[1])


def test_verify(page: Page, cuts: tuple[Cut, ...], law: Law) -> None:
    print_verify(page[0], cuts, law)
    _check("verify", page[1])


def test_cautions(page: Page) -> None:
    for caution in (caution_before_motion(), caution_strings(), caution_before_cut()):
        say(page[0], caution)
    _check("cautions", page[1])


@pytest.mark.parametrize("width", [40, 60])
def test_narrow_terminals_get_more_tables_and_no_cut_off_numbers(
    width: int, twelve: Instrument, plain_shape: Callable[..., Shape]
) -> None:
    stream = io.StringIO()
    print_heights(make_console(stream, width=width), plain_shape(twelve))
    lines = stream.getvalue().splitlines()
    assert max(map(len, lines)) <= width
    assert "…" not in stream.getvalue()
    assert stream.getvalue().count("1.05") >= 22 * 12


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _shown(monkeypatch: pytest.MonkeyPatch, no_color: str | None, plan: Plan) -> str:
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("NO_COLOR", "TTY_COMPATIBLE", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    if no_color is not None:
        monkeypatch.setenv("NO_COLOR", no_color)
    stream = _Terminal()
    print_margins(make_console(stream, width=80), plan.now, "As it stands", details=True)
    return stream.getvalue()


def test_colour_on_a_terminal_and_none_with_no_color(
    monkeypatch: pytest.MonkeyPatch, plan: Plan
) -> None:
    assert "\x1b[1;31m" in _shown(monkeypatch, None, plan)
    plain = _shown(monkeypatch, "1", plan)
    assert "31m" not in plain
    assert "-3!" in plain


def test_names_are_never_markup(page: Page, plan: Plan, six: Instrument) -> None:
    named = replace(plan, playing=replace(plan.playing, name="[bold]mine[/bold] :smile:"))
    print_plan(page[0], named, six)
    assert "Playing: [bold]mine[/bold] :smile:;" in page[1].getvalue()


def test_plan_of_the_programme_can_be_read(page: Page, solved: Plan, six: Instrument) -> None:
    print_plan(page[0], solved, six)
    text = page[1].getvalue()
    assert "This plan meets every margin and every limit." in text
    assert "let it settle" in text or "letting it settle" in text or "rod stays" in text
    assert max(map(len, text.splitlines())) <= 80
