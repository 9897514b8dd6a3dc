"""The first page's sentences: for the instrument's owner, who is no repairer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.clearances import Clearance
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm
from daq.report.record import ReportInput
from daq.report.stage import Stage, margins_now, stage_of
from daq.text.cuts import removals_um
from daq.text.life import MANY
from daq.text.margins import position, spare_mm
from daq.text.sensitivity import metal_words
from daq.text.setup import LEAST_RELIEF_MM, STEP_MM
from daq.text.summary import USUAL_RELIEF_MM
from daq.text.words import counted, fixed, named, turn_words

#: A change of the strings' heights smaller than this is none, mm.
_HALF_STEP = 0.5 * STEP_MM


def status_sentence(given: ReportInput) -> str:
    """How far the work is."""
    stage = stage_of(given)
    if given.since and stage in (Stage.PLANNED, Stage.FILED, Stage.ENDED):
        return "Work goes on: the newest scans are not in this report yet."
    return {
        Stage.NEW: "Nothing was measured yet.",
        Stage.ONE_STATE: "Measured in one state so far; nothing is planned, nothing was changed.",
        Stage.MEASURED: "Measured; nothing is planned yet, nothing was changed.",
        Stage.NO_PLAN: "Measured; nothing was changed, for no change would do all that is asked.",
        Stage.PLANNED: "Measured and planned; nothing was changed yet.",
        Stage.FILED: "Filed and measured again, the strings still off; "
        + ("one more light pass is to come." if given.left else "it can be strung up."),
        Stage.ENDED: "Done: filed, strung up again and measured."
        if given.finished
        else "Filed, strung up again and measured; something is left to do.",
    }[stage]


def found_sentences(given: ReportInput) -> list[str]:
    """What was wrong as it came in: buzzing, relief, wear, loose frets."""
    if not given.shapes:
        return []
    plan = given.plan
    said = [] if plan is None else buzz_sentences(plan.now, plan.playing.name)
    said.append(relief_plainly([one.relief_mm for one in given.shapes[0].relief]))
    said += _worn(given)
    if given.loose:
        frets = named("fret", [one.fret for one in given.loose])
        said.append(f"{frets[0].upper()}{frets[1:]} may be loose.")
    return said


def buzz_sentences(now: Sequence[Clearance], player: str) -> list[str]:
    """How many places buzz, and the worst of them."""
    buzz, near = (sum(c.verdict == one for c in now) for one in ("buzzes", "undecided"))
    asked = f"For the playing asked for ({player})"
    if not buzz and not near:
        return [f"{asked} no place buzzes."]
    more = f", {near} more may" if buzz and near else ""
    verb = "buzz" if buzz else "may buzz"
    said = [f"{asked} {buzz or near} of {counted(len(now), 'place')} {verb}{more}."]
    worst = min(now, key=spare_mm)
    if buzz:
        said.append(
            f"Worst: {position(worst).lower()} touches fret {worst.worst_at}, "
            f"{fixed(-spare_mm(worst), 2)} ± {fixed(2.0 * worst.u_mm, 2)} mm too close."
        )
    return said


def relief_plainly(relief_mm: Iterable[float]) -> str:
    known = [one for one in relief_mm if np.isfinite(one)]
    if not known:
        return "The neck's bow (its relief) is not known."
    usual_low, usual_high = USUAL_RELIEF_MM
    low, high = min(known), max(known)
    said = f"The neck's bow (its relief) is {span(known)} mm, "
    if low < 0:
        return f"{said}in places backwards; {usual_low:g} to {usual_high:g} mm forwards is usual."
    if high > usual_high:
        return f"{said}more than the usual {usual_low:g} to {usual_high:g} mm."
    if low < usual_low:
        return f"{said}less than the usual {usual_low:g} to {usual_high:g} mm."
    return f"{said}which is usual."


def _worn(given: ReportInput) -> list[str]:
    wear = given.wear
    if wear is None:
        return []
    said = []
    for verdict, words in (("worn out", "worn out"), ("dented", "dented under the strings")):
        frets = (np.flatnonzero((wear.verdict == verdict).any(axis=1)) + 1).tolist()
        if frets:
            verb = "is" if len(frets) == 1 else "are"
            deep = ""
            if verdict == "dented":
                deepest = float(np.max(wear.dent_mm[wear.verdict == verdict]))
                deep = f", at most {fixed(deepest, 2)} mm deep"
            said.append(f"{named('Fret', frets)} {verb} {words}{deep}.")
    return said


def work_sentences(given: ReportInput, plan: Plan) -> list[str]:
    """Rod, nut, saddles and metal: to be done, or as they were."""
    # with the strings off, the cuts are made and the screws are not set yet
    done = stage_of(given) is Stage.ENDED
    to_be = "" if done else "to be "
    said = []
    if abs(plan.relief_change_mm) >= LEAST_RELIEF_MM:
        way = "tightened" if plan.turns > 0 else "loosened"
        said.append(f"Rod {to_be}{way} by {turn_words(plan.turns)}.")
    said += _moved("nut slot", plan.nut_mm, to_be)
    said += _moved("saddle", plan.saddle_mm, to_be)
    if not said:
        said.append("Rod, nut and saddles stay as they are.")
    elif done:
        said[-1] = f"{said[-1][:-1]}, as planned."
    return [*said, *_metal(given, plan)]


def _moved(what: str, change_mm: FloatArray, to_be: str) -> list[str]:
    said = []
    for way, side in (("raised", 1.0), ("lowered", -1.0)):
        moved = np.flatnonzero(side * change_mm > _HALF_STEP)
        if moved.size:
            who = named("string", (moved + 1).tolist())
            by = span(np.abs(change_mm[moved]).tolist())
            one = "" if moved.size == 1 else "s"
            said.append(f"{what[0].upper()}{what[1:]}{one} of {who} {to_be}{way} by {by} mm.")
    return said


def _metal(given: ReportInput, plan: Plan) -> list[str]:
    """In all: planned or what came off, against levelling."""
    removal = removals_um(plan)
    planned, level = 1e-3 * float(removal.sum()), plan.level_mm
    frets = np.flatnonzero(removal.any(axis=1)) + 1
    if not frets.size:
        return ["No metal comes off."]
    seen = [cut for cut in given.cuts if np.isfinite(cut.achieved_um)]
    over = counted(frets.size, "fret")
    if not seen:
        less = _less(planned, level)
        return [f"{metal_words(planned)} of metal to come off {over} in all{less}."]
    off = 1e-3 * sum(cut.achieved_um for cut in seen)
    u = 2.0 * sum(cut.u_achieved_um for cut in seen)
    return [
        f"{metal_words(off)} of metal came off {over} in all (± {fixed(u, 0)} µm at the most; "
        f"{metal_words(planned)} was planned){_less(off, level)}."
    ]


def _less(metal_mm: float, level_mm: float) -> str:
    if not level_mm > metal_mm:
        return ""
    share = 100.0 * (1.0 - metal_mm / level_mm)
    return f": {share:.0f} % less than levelling, which would take {metal_words(level_mm)}"


def expect_sentences(given: ReportInput, plan: Plan) -> list[str]:
    """Buzzing, string heights, how long the frets last."""
    margins = margins_now(given)
    ended = stage_of(given) is Stage.ENDED
    clear, buzz, near = (
        sum(c.verdict == one for c in margins) for one in ("clear", "buzzes", "undecided")
    )
    sound = "sound clear" if ended else "should sound clear"
    if clear == len(margins):
        said = [f"All {counted(clear, 'place')} {sound}."]
    else:
        more = f", {buzz} buzz" if buzz else ""
        said = [f"{clear} of {counted(len(margins), 'place')} {sound}, {near} may buzz{more}."]
    heights = action_after_mm(plan, given.instrument).tolist()
    said.append(f"String height over fret 12: {span(heights)} mm, string 1 to the last.")
    return said + _life(given)


def _life(given: ReportInput) -> list[str]:
    if given.weighed is None:
        return []
    known = [one.dressings for one in given.weighed.life.frets if np.isfinite(one.dressings)]
    if not known or min(known) >= MANY + 1:
        return []
    least = int(min(known) + 1e-6)
    if least < 1:
        return ["At least one fret will not stand another dressing."]
    return [f"Every fret stands at least {counted(least, 'more dressing')} like this one."]


def span(values: Sequence[float], digits: int = 2) -> str:
    """1.70 to 2.20; 0.15 where all are alike."""
    known = [one for one in values if np.isfinite(one)]
    if not known:
        return "-"
    low, high = fixed(min(known), digits), fixed(max(known), digits)
    return low if low == high else f"{low} to {high}"
