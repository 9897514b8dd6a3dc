"""What cannot be met together, so that a person sees why."""

from __future__ import annotations

import math
from collections.abc import Callable

from analysis.plan.blocking import Blocking, Hurdle
from analysis.plan.demands import Member
from analysis.plan.ideal import Impossible
from analysis.plan.plan import Plan
from daq.text.words import fixed, listed, named, turn_words

#: A limit this small is none at all, mm.
NOTHING_MM = 5e-4
#: So many sets are told one by one.
TOLD = 6


def blocking_sentences(plan: Plan) -> list[str]:
    """One for each set that cannot be met, the worst first; strings in the same way together."""
    alike: dict[tuple[object, ...], list[Blocking]] = {}
    for one in sorted(plan.blocking, key=lambda one: -one.short_mm):
        alike.setdefault(_pattern(one), []).append(one)
    groups = list(alike.values())
    said = [_said(plan, group[0]) + _others(group[1:]) for group in groups[:TOLD]]
    if len(groups) > TOLD:
        said.append(f"... and {len(groups) - TOLD} more of the kind.")
    return said


def _pattern(one: Blocking) -> tuple[object, ...]:
    """The same for sets that differ in nothing but their string."""
    members = [h.member for h in one.hurdles]
    if len({m.string for m in members if m.string}) > 1:
        return (one,)
    return tuple((m.kind, m.fretted, m.at, m.bend) for m in members)


def _others(alike: list[Blocking]) -> str:
    if not alike:
        return ""
    strings = [max(h.member.string for h in one.hurdles) for one in alike]
    return f" The same holds for {named('string', strings)}, by less."


def impossible_sentences(found: Impossible | None) -> list[str]:
    """What no neck could meet, which number to change, and to what."""
    if found is None:
        return []
    by_height: dict[str, list[int]] = {}
    for string, height in found.action_mm.items():
        by_height.setdefault(fixed(_up(height), 2), []).append(string)
    heights = [f"{mm} mm for {named('string', who)}" for mm, who in by_height.items()]
    ways = [f"highest_action_mm to at least {listed(heights)}"]
    if found.force_n is not None:
        ways.append(f"pluck_force_n to at most {fixed(math.floor(100 * found.force_n) / 100, 2)}")
    if found.bend_semitones is not None:
        ways.append(f"bend_semitones to at most {found.bend_semitones:g}")
    return [
        "No neck can meet this profile, however well its frets, nut and saddles stand. In the "
        f"playing profile set {', or '.join(ways)}; this neck itself may ask for more."
    ]


def _up(height_mm: float) -> float:
    return math.ceil(round(100.0 * height_mm, 3)) / 100.0


def _said(plan: Plan, one: Blocking) -> str:
    margins = [h for h in one.hurdles if h.member.kind == "margin"]
    limits = [_LIMITS[h.member.kind](plan, h) for h in one.hurdles if h.member.kind != "margin"]
    said = [_asked(margins)]
    if limits:
        said.append(f"{_capital('; '.join(limits))}.")
    if one.any_frets:
        said.append("No cut and no new fret changes that, whatever the frets' heights.")
    short = fixed(one.short_mm, 3) if one.short_mm >= NOTHING_MM else "less than 0.001"
    said.append(f"All would be met if each gave way by {short} mm.")
    return " ".join(said)


def _asked(margins: list[Hurdle]) -> str:
    strings = sorted({h.member.string for h in margins})
    if not margins:
        return "The limits exclude one another."
    if len(margins) == 1:
        (one,) = margins
        return (
            f"String {one.member.string} {_place(one.member)} cannot clear fret {one.member.at}: "
            f"{_room(one)} with the guard."
        )
    if len(strings) == 1:
        places = [f"{_place(h.member)} over fret {h.member.at} ({_room(h)})" for h in margins]
        where = f"String {strings[0]} cannot be clear everywhere at once, guard included"
        return f"{where}: {listed(places)}."
    places = [
        f"string {h.member.string} {_place(h.member)} over fret {h.member.at} ({_room(h)})"
        for h in margins
    ]
    return f"These cannot all be clear at once, guard included: {listed(places)}."


def _place(member: Member) -> str:
    if member.fretted == 0:
        return "open"
    return f"{'bent' if member.bend else 'fretted'} at {member.fretted}"


def _room(hurdle: Hurdle) -> str:
    now, band = fixed(hurdle.now_mm or 0.0, 2), fixed(2.0 * hurdle.u_mm, 2)
    return f"{now} ± {band} mm now, {fixed(hurdle.limit_mm, 2)} mm needed"


def _action(plan: Plan, hurdle: Hurdle) -> str:
    return (
        f"string {hurdle.member.string} may stand no higher than {fixed(hurdle.limit_mm, 2)} mm "
        f"over fret 12 ({fixed(hurdle.now_mm or 0.0, 2)} ± {fixed(2 * hurdle.u_mm, 2)} mm now)"
    )


def _cut(plan: Plan, hurdle: Hurdle) -> str:
    member = hurdle.member
    held = plan.target.held.where(*plan.remove_mm.shape)
    if held[member.at - 1, member.string - 1]:
        return f"fret {member.at} is held back under string {member.string}"
    more = "nothing more"
    if hurdle.limit_mm > NOTHING_MM:
        more = f"no more than {fixed(hurdle.limit_mm, 2)} mm"
    needs = fixed(plan.playing.least_height_mm(member.at)[-1], 2)
    height = "its height is not known"
    if hurdle.now_mm is not None and math.isfinite(hurdle.now_mm):
        height = f"{fixed(hurdle.now_mm, 3)} ± {fixed(2 * hurdle.u_mm, 3)} mm high"
    return (
        f"fret {member.at} may lose {more} under string {member.string} "
        f"({height}, the player needs {needs})"
    )


def _screw(what: str, way: str, kept: str) -> Callable[[Plan, Hurdle], str]:
    def said(plan: Plan, hurdle: Hurdle) -> str:
        which = f"the {what} of string {hurdle.member.string}"
        if kept in plan.target.fixed:
            return f"{which} is {_fixed(plan, kept)}"
        if hurdle.limit_mm < NOTHING_MM:
            return f"{which} goes no {way}"
        return f"{which} goes {way} by no more than {fixed(hurdle.limit_mm, 2)} mm"

    return said


def _fixed(plan: Plan, what: str) -> str:
    return "to stay as it is" if what in plan.target.keep else "set by hand"


def _rod(way: str) -> Callable[[Plan, Hurdle], str]:
    def said(plan: Plan, hurdle: Hurdle) -> str:
        if "rod" in plan.target.fixed:
            return f"the rod is {_fixed(plan, 'rod')}"
        turns = turn_words(hurdle.limit_mm / plan.rod.mm_per_turn)
        return f"the rod is {way} by no more than {turns} at once"

    return said


def _step(first_deeper: bool) -> Callable[[Plan, Hurdle], str]:
    def said(plan: Plan, hurdle: Hurdle) -> str:
        s = hurdle.member.string
        deep, other = (s, s + 1) if first_deeper else (s + 1, s)
        return (
            f"no file cuts fret {hurdle.member.at} more than {fixed(hurdle.limit_mm, 2)} mm deeper "
            f"under string {deep} than under string {other}"
        )

    return said


_LIMITS: dict[str, Callable[[Plan, Hurdle], str]] = {
    "action": _action,
    "cut": _cut,
    "saddle up": _screw("saddle", "higher", "saddles"),
    "saddle down": _screw("saddle", "lower", "saddles"),
    "nut up": _screw("nut slot", "higher", "nut"),
    "nut down": _screw("nut slot", "lower", "nut"),
    "rod add": _rod("loosened"),
    "rod take": _rod("tightened"),
    "step up": _step(True),
    "step down": _step(False),
}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
