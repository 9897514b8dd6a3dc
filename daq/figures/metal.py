"""What the plan takes, what would change that, and how long the frets last, as bars."""

from __future__ import annotations

import numpy as np

from analysis.plan.life import Life
from analysis.plan.plan import Plan
from analysis.plan.price import UncertaintyPrice
from analysis.plan.sensitivity import Sensitivity, Step
from analysis.plan.weighed import Weighed
from daq.figures.axes import framed, heading, roomy, size_of, y_axis
from daq.figures.barchart import Bar, Group, bar_chart
from daq.figures.cells import figure
from daq.figures.html import Html, tag
from daq.figures.svg import box, drawing, label, path
from daq.text.cuts import removals_um
from daq.text.life import MANY
from daq.text.sensitivity import NO_PLAN, WORTH_MM, change_words, metal_words
from daq.text.steps import saving_words, step_words
from daq.text.words import fixed

#: A step that takes more than this many times the plan's metal is cut off.
_MOST_TIMES = 2.5
#: Steps in the order they are drawn, each kind under its heading.
_STEPS = (
    ("Action", ("action", "string")),
    ("The player", ("force", "fret", "profile")),
    ("Rod, nut and saddles", ("rod", "free", "keep")),
)


def metal_figure(plan: Plan, weighed: Weighed) -> Html:
    """Metal in all as planned, by levelling, and with one thing otherwise at a time."""
    found, price = weighed.sensitivity, weighed.price
    planned = 1e-3 * float(removals_um(plan).sum())
    groups = [
        Group("Metal in all", _whole(plan, found, planned)),
        *_stepped(found),
        *_known(price),
    ]
    most = _MOST_TIMES * planned if planned > WORTH_MM else _usual(groups)
    words = (
        "Each bar is the metal that comes off in all, summed over frets and strings, with that one "
        "thing otherwise; the upright strokes are the plan's. An arrow: more than drawn. "
        "The whisker on the plan: ± twice its standard uncertainty."
    )
    title = "Metal in all, and what would change it"
    return figure(title, words, bar_chart(title, words, groups, most, planned))


def _usual(groups: list[Group]) -> float:
    """Where the plan takes next to nothing: what the steps take at most, levelling aside."""
    values = [bar.value for group in groups[1:] for bar in group.bars]
    known = [value for value in values if np.isfinite(value)]
    return max([*known, WORTH_MM])


def _whole(plan: Plan, found: Sensitivity, planned: float) -> list[Bar]:
    band = 2.0 * found.u_metal_mm if np.isfinite(found.u_metal_mm) else 0.0
    sure = f" ± {fixed(1e3 * band, 0)} µm" if band > 0.0 else ""
    return [
        Bar("the plan", planned, metal_words(planned) + sure, "q4", band),
        Bar("levelling each string straight", plan.level_mm, metal_words(plan.level_mm), "q1"),
    ]


def _stepped(found: Sensitivity) -> list[Group]:
    """The best single string only: the others buy less."""
    groups = []
    for title, kinds in _STEPS:
        steps = [step for kind in kinds for step in _of(found, kind)]
        if steps:
            groups.append(Group(title, [_step(found, step) for step in steps]))
    return groups


def _of(found: Sensitivity, kind: str) -> list[Step]:
    steps = [step for step in found.steps if step.kind == kind]
    if kind == "string":
        return sorted(
            (step for step in steps if step.feasible and found.saves_mm(step) >= WORTH_MM),
            key=lambda step: -found.saves_mm(step),
        )[:1]
    if kind == "fret":
        return [step for step in steps if not abs(found.saves_mm(step)) < WORTH_MM]
    return sorted(steps, key=lambda step: step.by) if kind == "action" else steps


def _step(found: Sensitivity, step: Step) -> Bar:
    if not step.feasible:
        return Bar(step_words(step), np.nan, NO_PLAN)
    told = f"{metal_words(step.metal_mm)}: {change_words(found.saves_mm(step))}"
    return Bar(step_words(step), step.metal_mm, told)


def _known(price: UncertaintyPrice) -> list[Group]:
    """Only what is worth doing, and all of it together."""
    worth = [one for one in price.savings if one.what == "everything" or one.saves_mm >= WORTH_MM]
    bars = [
        Bar(
            saving_words(one, price),
            price.metal_mm - one.saves_mm,
            f"{metal_words(price.metal_mm - one.saves_mm)}: {change_words(one.saves_mm)}",
            "q2",
        )
        for one in worth
        if np.isfinite(one.saves_mm)
    ]
    return [Group("What is not known costs", bars)] if bars else []


def life_figure(life: Life) -> Html:
    """How many more such dressings each fret has, along the neck."""
    frets = sorted(life.frets, key=lambda one: one.fret)
    frame = framed((0.5, len(frets) + 0.5), (0.0, MANY + 2.0), 120.0)
    bars, numbers = [], []
    places = frame.x.all_at(np.arange(1.0, len(frets) + 1))
    named = {place + 1 for place in roomy(places, [1, len(frets)])}
    half = 0.36 * (frame.x.at(1.0) - frame.x.at(0.0))
    for one in frets:
        x = frame.x.at(float(one.fret))
        if one.fret in named:
            numbers.append(label(str(one.fret), x, frame.base + 19.0))
        if not np.isfinite(one.dressings):
            numbers.append(label("–", x, frame.base - 5.0, "soft"))
            continue
        whole = np.floor(one.dressings + 1e-6)
        top = frame.y.at(min(one.dressings, MANY + 1.0))
        kind = "buzzes" if whole < 1.0 else "q3" if one.cut_mm > 0.0 else "q1"
        bars.append(path(box(x - half, top, 2.0 * half, frame.base - top), kind))
        if whole <= MANY:
            numbers.append(label(f"{whole:.0f}", x, top - 4.0))
    title = "How many more such dressings each fret has"
    words = (
        "Whole dressings like this one that each fret has left after it; a bar without a number: "
        f"more than {MANY}. Darker: the plan cuts this fret. A dash: its height is not known."
    )
    drawn = drawing(
        title,
        words,
        size_of(frame),
        heading("dressings left"),
        y_axis(frame, "dressings", 4),
        *bars,
        path(box(frame.x.start, frame.base, frame.right - frame.x.start, 0.0), "axis"),
        tag("g", *numbers, class_="mid"),
        label("fret", 0.5 * (frame.x.start + frame.right), frame.base + 39.0, "soft mid"),
    )
    return figure(title, words, drawn)
