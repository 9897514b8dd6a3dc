"""Bends in words: where a string chokes, what would stop it, how far it may be bent."""

from __future__ import annotations

from itertools import groupby

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.bends import WIDTHS
from analysis.plan.chokes import Choke, Chokes
from analysis.plan.plan import Plan
from daq.text.margins import TOLD
from daq.text.words import fixed, listed, named, runs

#: A board flatter than this is as good as flat to a player, mm (own choice).
FLAT_MM = 1500.0


def choke_sentences(plan: Plan) -> list[str]:
    """By string and stretch of frets; then the cut, the plan, and how far strings may be bent."""
    chokes = plan.chokes
    if chokes is None:
        return []
    stretches = _stretches(chokes.now)
    said = [_stretch(plan, one) for one in stretches[:TOLD]]
    if len(stretches) > TOLD:
        said.append(f"... and {len(stretches) - TOLD} more.")
    if chokes.now:
        said.append(_cut(chokes))
    if not chokes.now:
        said.append(f"No string that is clear straight chokes in bends of {_semitones(plan)}.")
    elif plan.feasible:
        said.append("The plan stops all of that." if not chokes.after else _left(chokes.after))
    return said + _widest(chokes.widest_after if plan.feasible else chokes.widest_now, plan)


def _semitones(plan: Plan) -> str:
    wide = plan.playing.bend_semitones
    return f"{wide:g} semitone{'' if wide == 1 else 's'}"


def _stretches(found: tuple[Choke, ...]) -> list[list[Choke]]:
    """One string's chokes at frets next to one another."""
    ordered = sorted(found, key=lambda one: (one.string, one.fretted))
    numbered = enumerate(ordered)
    groups = groupby(numbered, key=lambda pair: (pair[1].string, pair[1].fretted - pair[0]))
    return [[one for _, one in group] for _, group in groups]


def _stretch(plan: Plan, stretch: list[Choke]) -> str:
    worst = max(stretch, key=lambda one: one.short_mm)
    verb = "chokes" if any(one.verdict == "buzzes" for one in stretch) else "may choke"
    said = (
        f"String {worst.string} bent {_semitones(plan)} {verb} fretted at "
        f"{runs(one.fretted for one in stretch)}, over {named('fret', (o.at for o in stretch))}: "
        f"at the worst {_above(worst)} without swing, {fixed(worst.short_mm, 3)} mm short with it, "
        "guard included"
    )
    return f"{said}. {_radius(stretch)}"


def _above(choke: Choke) -> str:
    band = fixed(2 * choke.u_mm, 3)
    if choke.clearance_mm < 0:
        return f"lying on it ({fixed(-choke.clearance_mm, 3)} ± {band} mm too low)"
    return f"{fixed(choke.clearance_mm, 3)} ± {band} mm above it"


def _radius(stretch: list[Choke]) -> str:
    if any(one.radius_mm is None for one in stretch):
        return "No board radius alone would stop it: a fret stands too high there."
    widest, now = max((one.radius_mm or 0.0, one.now_radius_mm) for one in stretch)
    if widest > FLAT_MM:
        return f"Only a nearly flat board would stop it ({fixed(now, 0)} mm of radius now)."
    return f"A board radius of {fixed(widest, 0)} mm there would stop it ({fixed(now, 0)} mm now)."


def _cut(chokes: Chokes) -> str:
    if chokes.cut_mm is None:
        return "No cut alone would stop all of these."
    frets = np.flatnonzero(chokes.cut_mm.max(axis=1) > 5e-5) + 1
    total = 1e3 * float(chokes.cut_mm.sum())
    return (
        f"Cuts for these bends alone would take {total:.0f} µm in all, off "
        f"{named('fret', frets.tolist())}."
    )


def _left(after: tuple[Choke, ...]) -> str:
    places = [f"string {one.string} at {one.fretted}" for one in after]
    return f"After the plan these still choke: {listed(places)}."


def _widest(semitones: FloatArray, plan: Plan) -> list[str]:
    """Where less than the widest looked at is clear; the last fret has none beyond it."""
    when = "After the plan" if plan.feasible else "As it stands"
    most = float(WIDTHS[-1])
    alike: dict[str, list[int]] = {}
    for string, at in enumerate(semitones[:-1].T.tolist(), start=1):
        narrow = _narrow(at, most)
        if narrow:
            alike.setdefault(narrow, []).append(string)
    said = [f"{named('string', strings)}: {narrow}" for narrow, strings in alike.items()]
    if not said:
        return [f"{when} every string may be bent {most:g} semitones or more anywhere."]
    return [
        f"{when} strings may be bent, semitones, guard included: {'; '.join(said)}; {most:g} or "
        "more elsewhere."
    ]


def _narrow(semitones: list[float], most: float) -> str:
    """1.5 at frets 16 to 21 and none at fret 5; nothing where nothing is narrower than `most`."""
    frets: dict[float, list[int]] = {}
    for fret, wide in enumerate(semitones, start=1):
        if wide < most:
            frets.setdefault(wide, []).append(fret)
    return listed(
        [
            f"{f'{wide:g}' if wide else 'none'} at {named('fret', who)}"
            for wide, who in sorted(frets.items(), reverse=True)
        ]
    )
