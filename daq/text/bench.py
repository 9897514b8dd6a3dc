"""On the bench: what to set, where the beam is laid, what is left for the file, in that order."""

from __future__ import annotations

import numpy as np
from rich.console import Console
from rich.text import Text

from analysis.bench.order import WORTH_UM, FileStep
from analysis.bench.prop import MOST_AT_NUT_MM
from analysis.bench.setting import BeamSetting, Line, Section
from analysis.bench.sheet import Bench
from analysis.bench.straight import U_SET_MM
from analysis.plan.plan import Plan
from daq.text.cautions import caution_before_cut, caution_prop
from daq.text.console import bullets, heading, say
from daq.text.expect import print_expected
from daq.text.grid import print_grid
from daq.text.words import fixed, listed, named, signed, turn_words


def print_bench(console: Console, bench: Bench, plan: Plan) -> None:
    """The bench's section, and what gauges show after it."""
    heading(console, "On the bench, neck unstrung")
    bullets(console, bench_steps(bench, plan))
    if plan.remove_mm.any():
        bullets(console, bench_notes(bench))
    if bench.steps:
        heading(
            console, "To mean to take with the file, in this order, µm (frets down, strings across)"
        )
        _print_steps(console, bench.steps)
        bullets(console, file_notes(bench.steps))
    cautions = [caution_before_cut()] + [caution_prop()] * (bench.setting.prop is not None)
    for caution in cautions:
        say(console, caution, "dim")
    print_expected(console, bench.expected)


def bench_steps(bench: Bench, plan: Plan) -> list[str]:
    """The work in its order, a sentence or two a step."""
    if not plan.remove_mm.any():
        return ["Nothing is planned to come off: no beam is needed."]
    setting = bench.setting
    steps = [] if not setting.sections else [_rod(bench, plan)]
    if setting.prop is not None:
        steps.append(_prop(setting))
    steps += [_lay(section, plan) for section in setting.sections]
    if bench.steps:
        steps.append(
            f"File {named('fret', [step.fret for step in bench.steps])} by the table below, from "
            "the nut towards the body: one fret at a time, all its strings, blended between "
            "them, and never the same fret again."
        )
    cut = np.flatnonzero((1e3 * plan.remove_mm >= WORTH_UM).any(axis=1)) + 1
    if cut.size:
        steps.append(
            f"Crown {named('fret', cut.tolist())} again; leave a hair of the top's flat standing, "
            "or the crown ends lower than planned."
        )
    return [*steps, _back(setting), "Scan the neck unstrung, then verify, before the strings."]


def bench_notes(bench: Bench) -> list[str]:
    """The beam's share of the plan, with the doubt of it, and what its lines take for granted."""
    setting = bench.setting
    if not setting.sections:
        return ["A straight beam can do nothing of this plan by itself: all of it is for the file."]
    share, least = round(100 * setting.share), round(100 * setting.share_least)
    doubt = "" if least >= share else f", {least} % at the least if it is set less well"
    worst = max(section.u_um for section in setting.sections)
    said = [
        f"The beam does {share} % of the plan{doubt}. A gauge sets the neck to ± "
        f"{2 * U_SET_MM:g} mm; with that a line is good to ± {max(2 * worst, 1):.0f} µm between "
        "the frets it ends at: stop at the first fret that is down, go no further anywhere.",
        "Ink the tops first: the ink shows where the beam touches. It runs along one string at a "
        "time, is no wider than the strings are apart, and is level across.",
    ]
    if setting.share_without is not None:
        said.append(
            f"Without the prop it would be {100 * setting.share_without:.0f} %. How the neck bends "
            "over a prop is a beam's held at the joint: a formula, not measured on this neck."
        )
    elif bench.prop_tried:
        said.append("Propping the neck would not let the beam do clearly more: leave it.")
    return said


def file_notes(steps: tuple[FileStep, ...]) -> list[str]:
    """How each fret is checked, and what the order is good for."""
    u = max(float(np.max(step.u_gap_um, where=step.take_um > 0, initial=0.0)) for step in steps)
    said = [
        "Check each fret with a short straightedge over it and the two frets named in its line, "
        "the neck still as the bench has set it. It shows a gap: + under the nearer of the two, "
        f"- under the fret itself, ± {2 * u:.0f} µm.",
        "From the nut on, so that a slip asks something of frets not yet filed: stop there, scan "
        "the neck unstrung and plan again.",
    ]
    slight = [s.fret for s in steps if np.any((s.take_um > 0) & (s.aim_um <= 0))]
    if slight:
        said.append(
            f"Where the table says 0 at {named('fret', slight)} even a light cut would go past "
            "the plan by what earlier cuts took: take a finer tool, or leave it."
        )
    return said


def _rod(bench: Bench, plan: Plan) -> str:
    setting = bench.setting
    if abs(setting.relief_change_mm) < 1e-3:
        return "Leave the rod as it was in the unstrung scan."
    way = "Tighten" if setting.turns > 0 else "Loosen"
    words = turn_words(setting.turns)
    how = f"by {words}" if words.startswith("less") else words
    effect = "as learnt on this neck" if plan.rod.learnt else "by the default effect of a rod"
    now = [one.relief_mm for one in bench.unstrung_relief]
    mean, change = float(np.nanmean(now)), setting.relief_change_mm
    return (
        f"{way} the rod {how} from its setting in the unstrung scan ({effect}), a quarter turn at "
        f"a time, until relief has changed by {signed(change, 2)} mm ± {2 * U_SET_MM:g} mm: from "
        f"{fixed(mean, 2)} to {fixed(mean + change, 2)} mm, the mean of the strings. Go by the "
        "relief, not by the turn; a rod that resists or has gone slack does no more."
    )


def _prop(setting: BeamSetting) -> str:
    prop = setting.prop
    assert prop is not None
    down = prop.lift_mm < 0
    return (
        f"Hold the body down and {'press the neck down' if down else 'lift the neck on a wedge'} "
        f"under fret {prop.fret}, until a dial gauge on fret 1 has "
        f"{'fallen' if down else 'risen'} by {fixed(abs(prop.lift_mm), 2)} mm ± "
        f"{2 * prop.u_lift_mm:g} mm (the nut by {fixed(abs(prop.nut_mm), 2)} mm; never by more "
        f"than {MOST_AT_NUT_MM:g} mm)."
    )


def _lay(section: Section, plan: Plan) -> str:
    lines = "; ".join(_line(line, plan) for line in section.lines)
    return f"Lay the beam over {named('fret', range(section.first, section.last + 1))}. {lines}."


def _line(line: Line, plan: Plan) -> str:
    """Where one string's line ends: two frets down to the plan, or only just touched."""
    remove = [1e3 * float(plan.remove_mm[fret - 1, line.string - 1]) for fret in line.stops]
    down = [
        f"fret {fret} by {fixed(um, 0)} µm"
        for fret, um in zip(line.stops, remove, strict=True)
        if um >= 0.5
    ]
    touched = [f for f, um in zip(line.stops, remove, strict=True) if um < 0.5]
    ends = [f"is down at {listed(down)}"] if down else []
    ends += [f"touches {named('fret', touched)}"] if touched else []
    return f"String {line.string} until it {' or '.join(ends)}"


def _back(setting: BeamSetting) -> str:
    taken = "Take the prop away, then set" if setting.prop is not None else "Set"
    return (
        f"{taken} the rod to where the plan for playing wants it, and let it settle; what relief "
        "it then shows is said below."
    )


def _print_steps(console: Console, steps: tuple[FileStep, ...]) -> None:
    cells = [[Text(text) for text in step_cells(step)] for step in steps]
    print_grid(console, "fret", [str(step.fret) for step in steps], cells)
    heading(console, "What the straightedge then shows, µm (over the two frets named)")
    checks = [[Text(text) for text in check_cells(step)] for step in steps]
    names = [step_name(step) for step in steps]
    print_grid(console, "fret with", names, checks)


def step_name(step: FileStep) -> str:
    """5 with 6, 7."""
    return f"{step.fret} with {step.feet[0]}, {step.feet[1]}"


def step_cells(step: FileStep) -> list[str]:
    """What to mean to take under each string; a dot where nothing."""
    pairs = zip(step.take_um, step.aim_um, strict=True)
    return [fixed(float(aim), 0) if take > 0 else "." for take, aim in pairs]


def check_cells(step: FileStep) -> list[str]:
    """The straightedge's gap under each string that was filed; a dot elsewhere."""
    pairs = zip(step.take_um, step.gap_um, strict=True)
    return [signed(float(gap), 0) if take > 0 else "." for take, gap in pairs]
