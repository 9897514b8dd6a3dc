"""What the truss rod does on this neck, in words."""

from __future__ import annotations

import math

import numpy as np
from rich.console import Console

from analysis.instrument import Instrument
from analysis.rod.learnt import LearntRod
from analysis.rod.rod import RELIEF_PER_TURN_MM
from daq.documents.rod import lift_per_turn_mm
from daq.reading.rod import JobRod, StateRod
from daq.text.cautions import caution_rod
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.rod_words import per_turn_words
from daq.text.words import fixed, signed
from daq.workshop.job import shown

#: A neck that follows by less or more than this is said to do neither, and a bend that is less
#: even than this is said to be uneven (own choice).
NEARLY = 0.1
#: Frets whose lift is told: enough to see the shape.
_TOLD = 6


def not_learnt_line(job: str, found: JobRod) -> str:
    """One line: what keeps the rod from being learnt, and what to do."""
    if found.why_not:
        return f"job {job}: {'; '.join(found.why_not)}"
    return (
        f"job {job}: found no two scans of one state at two settings of the rod; turn it a quarter "
        "if it goes easily, let it settle, and scan again: neckform scan "
        f"{shown(job)} --rig RIG.yaml --state strung --rod 0.25"
    )


def print_rod(console: Console, found: JobRod, best: StateRod, instrument: Instrument) -> None:
    """What it was learnt from, what a turn does, its shape and what sets it apart."""
    heading(console, "The truss rod of this neck")
    say(console, f"One turn of tightening takes out {per_turn_words(best.learnt.rod)}.", "bold")
    _print_turns(console, found)
    bullets(console, rod_sentences(best, instrument))
    _print_shape(console, best)
    say(console, caution_rod(), "dim")


def rod_sentences(best: StateRod, instrument: Instrument) -> list[str]:
    """Whose word it is, whether it is linear, even, follows and twists; and the default."""
    learnt = best.learnt
    said = [_whose(best), _linear(learnt), _even(learnt)]
    if math.isfinite(learnt.follows):
        said.append(_follows(learnt, instrument))
    twist, u_twist = learnt.twist_mrad_per_turn, learnt.u_twist_mrad_per_turn
    if abs(twist) > 2.0 * u_twist:
        said.append(
            f"It twists the neck by {signed(twist, 2)} ± {fixed(2.0 * u_twist, 2)} mrad a turn."
        )
    else:
        said.append(
            "If it twists the neck, then by no more than "
            f"{fixed(abs(twist) + 2.0 * u_twist, 2)} mrad a turn."
        )
    share = learnt.rod.mm_per_turn / RELIEF_PER_TURN_MM
    said.append(
        f"Unlearnt, a rod is taken for {RELIEF_PER_TURN_MM:g} mm a turn: this one does "
        f"{100.0 * share:.0f} % of that. Plans of this job go by what was learnt, and ask for "
        f"{fixed(learnt.rod.most_turns, 2)} turn at most."
    )
    return said


def _whose(best: StateRod) -> str:
    if best.state == "strung":
        return "Strung scans say so, with the pull the rod works against."
    return (
        "Unstrung scans say so: a neck that the strings press bends a little more, which is in "
        "the ±; two strung scans would tell it without."
    )


def _linear(learnt: LearntRod) -> str:
    if learnt.linear is None:
        return "One turn does not tell whether another does as much: a third setting would."
    if learnt.linear:
        return "Its turns do alike: what it does goes with the turn."
    if learnt.slack:
        which = "turn" if learnt.slack == 1 else f"{learnt.slack} turns"
        return (
            f"The loosest {which} did less than half of what the others do: it is slack there, "
            "and what is said here is of the others."
        )
    return (
        "Its turns do not do alike: it may stick and jump, or was turned otherwise than said. The "
        "± is widened for it; go by the relief you measure."
    )


def _even(learnt: LearntRod) -> str:
    off, u = 100.0 * learnt.uneven, 200.0 * learnt.u_uneven
    how = "evenly" if learnt.uneven <= NEARLY else "unevenly"
    return (
        f"It bends the neck {how}: off an even curve by {fixed(off, 1)} ± {fixed(u, 1)} % of the "
        "relief at most."
    )


def _follows(learnt: LearntRod, instrument: Instrument) -> str:
    share = f"{fixed(learnt.follows, 3)} ± {fixed(2.0 * learnt.u_follows, 3)}"
    past = f"Past fret {instrument.body_joint_fret}"
    if abs(learnt.follows - 1.0) <= NEARLY:
        return f"{past} the frets go on along the neck's tangent ({share} of it): the body follows."
    if abs(learnt.follows) <= NEARLY:
        return f"{past} the frets stay ({share} of the neck's tangent): the body does not follow."
    return f"{past} the frets move by {share} of the neck's tangent."


def _print_turns(console: Console, found: JobRod) -> None:
    table = plain_table(["scans", "state", "from", "to", "relief, mm", "±", "mm a turn"])
    for state in found.states:
        for (before, after), one in zip(state.scans, state.learnt.seen, strict=True):
            table.add_row(
                f"{before.name[:3]} to {after.name[:3]}",
                state.state,
                fixed(one.from_turns, 2),
                fixed(one.to_turns, 2),
                signed(one.relief_change_mm, 4),
                fixed(2.0 * one.u_relief_change_mm, 4),
                fixed(one.mm_per_turn, 3),
            )
    console.print(table)
    say(
        console,
        "±: of the scans, twice the standard uncertainty; how well a hand turns a rod (10 degrees "
        "either way) is in the figure above besides",
        "dim",
    )


def _print_shape(console: Console, best: StateRod) -> None:
    """Some frets, from the first to the last, mean of the strings."""
    dz, u = (1e3 * np.mean(a, axis=1) for a in lift_per_turn_mm(best))
    frets = np.unique(np.linspace(0, dz.size - 1, _TOLD).round().astype(int))
    table = plain_table(["fret", *(str(fret + 1) for fret in frets)])
    table.add_row("µm a turn", *(signed(float(dz[fret]), 0) for fret in frets))
    table.add_row("±", *(fixed(2.0 * float(u[fret]), 0) for fret in frets))
    console.print(table)
    say(console, "how tightening lifts the tops, nut and body joint kept where they are", "dim")
