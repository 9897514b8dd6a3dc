"""How well the rig repeats itself, in words."""

from __future__ import annotations

import numpy as np
from rich.console import Console

from analysis.instrument import FloatArray
from analysis.repeats.repeatability import TOO_SMALL, Repeatability, Scatter
from calibration.uncertainty.components import Spread
from calibration.uncertainty.gauge import GaugeStudy
from daq.steps.calibrate_repeatability import RepeatabilityFound
from daq.text.budget import print_budget
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.words import counted, fixed


def print_repeatability(console: Console, found: RepeatabilityFound) -> None:
    """What scatters by how much, whether the stated uncertainty holds, the budget."""
    study = found.study
    tops = study.tops
    say(
        console,
        f"Fret tops repeat to {_um(tops.s_r.s)} µm from scan to scan, and to "
        f"{_um(tops.s_big_r.s)} µm with the neck clamped anew each time.",
        "bold",
    )
    _print_table(console, study)
    bullets(
        console,
        [
            f"{counted(tops.anova.groups, 'clamping')} of "
            f"{counted(tops.anova.per_group, 'scan')}, {counted(int(study.seen.sum()), 'top')} "
            f"compared as shapes: how high and how tilted the neck stands does not count.",
            clamping_sentence(tops),
            stated_sentence(tops),
            *noise_sentences(tops),
            worst_sentence(study, found.strings),
            gauge_sentence(study.gauge),
            "What all these scans share they cannot show: the errors of the rail's map, of the "
            "sensor's curve and of the tip. The budget adds them.",
        ],
    )
    print_budget(console, found.budgets)
    bullets(console, [f"Kept as {found.path}."])


def clamping_sentence(tops: Scatter) -> str:
    """Whether clamping anew shows."""
    if tops.anova.below_zero:
        return (
            "Clamping anew does not show: the clampings differ by less than their scans do. Its "
            "variance came out negative, and 0 is put in its place."
        )
    chance = f"chance alone would do as much {_chance(tops.anova.p)}"
    if tops.anova.p > TOO_SMALL:
        return f"Clamping anew does not show: {chance}."
    if tops.anova.s_l <= tops.anova.s_r:
        return f"Clamping anew shows in the tops: {chance}."
    return (
        f"Clamping anew shows in the tops, more than scanning again does: {chance}. Where you can, "
        "do not unclamp between scans."
    )


def stated_sentence(tops: Scatter) -> str:
    """Whether the uncertainty that goes with every top covers what was seen."""
    said = (
        f"The stated uncertainty of a top is {_um(tops.stated_mm)} µm; what was seen is "
        f"{_times(tops.ratio)} of that"
    )
    if tops.holds and tops.ratio.high <= 1.0:
        return f"{said}: it holds."
    if tops.holds:
        return f"{said}: nothing speaks against it; more clampings would say more."
    return (
        f"{said}: too little is stated. Until the cause is found, plan with `guard` "
        f"{fixed(tops.ratio.s, 1)} times as large in the playing file."
    )


def noise_sentences(tops: Scatter) -> list[str]:
    """A word where scans of one clamping scatter by more than noise, drift and crown explain."""
    if tops.chance_random >= TOO_SMALL:
        return []
    return [
        f"Scans of one clamping scatter by {_um(tops.s_r.s)} µm; noise, drift and crown explain "
        f"{_um(tops.random_mm)} µm of it: is something loose, or does a cable drag?"
    ]


def worst_sentence(study: Repeatability, strings: FloatArray) -> str:
    """The top that repeats worst."""
    fret, lane = np.unravel_index(int(np.nanargmax(study.s_big_r_mm)), study.seen.shape)
    return (
        f"Worst: fret {fret + 1} at string {strings[lane]:g}, "
        f"{_um(float(study.s_big_r_mm[fret, lane]))} µm."
    )


def gauge_sentence(gauge: GaugeStudy) -> str:
    """The gauge study: parts are tops, appraisers clampings."""
    said = (
        f"As a gauge study: of all variation between tops {fixed(gauge.grr_percent, 2)} % is the "
        f"measuring ({_um(gauge.ev)} µm repeating, {_um(gauge.av)} µm clamping)"
    )
    if not np.isfinite(gauge.categories):
        return f"{said}."
    return f"{said}; it tells {int(gauge.categories)} heights apart."


def _print_table(console: Console, study: Repeatability) -> None:
    heading(console, "Standard deviations, µm, with 95 % intervals")
    table = plain_table(["", "same clamping", "clamping adds", "clamped anew"])
    for name, scatter in (("fret tops", study.tops), ("relief", study.relief)):
        if scatter is not None:
            spreads = (scatter.s_r, scatter.s_l, scatter.s_big_r)
            table.add_row(name, *(_interval(one) for one in spreads))
    console.print(table)


def _interval(spread: Spread) -> str:
    return f"{_um(spread.s)} ({_um(spread.low)} to {_um(spread.high)})"


def _times(ratio: Spread) -> str:
    return f"{fixed(ratio.s, 2)} ({fixed(ratio.low, 2)} to {fixed(ratio.high, 2)})"


def _um(value_mm: float) -> str:
    return fixed(1e3 * value_mm, 2)


def _chance(p: float) -> str:
    if p < 1e-3:
        return "less than once in 1000 times"
    return f"once in {1.0 / p:.0f} times" if p < 0.4 else "about every other time"
