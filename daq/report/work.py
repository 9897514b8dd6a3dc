"""What is to be done, or was: rod, nut and saddles, the cuts; or what is in the way of a plan."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm, nut_gap_after_mm
from daq.figures.html import Html, bullet_list, joined, tag, titled
from daq.figures.planfigures import cuts_figure
from daq.report.caution import caution_box
from daq.report.record import ReportInput
from daq.report.stage import Stage, is_done, stage_of
from daq.report.tabled import table
from daq.text.cautions import caution_before_cut, caution_strings
from daq.text.cures import cure_sentences, in_the_way_sentences
from daq.text.cuts import cut_sentences, removals_um
from daq.text.doubts import doubt_sentences, loose_notes
from daq.text.plan import (
    metal_sentence,
    not_same_sentence,
    stored_verdict_sentence,
    verdict_sentence,
)
from daq.text.rod import rod_sentences as learnt_sentences
from daq.text.setup import LEAST_RELIEF_MM, STEP_MM, rod_sentences
from daq.text.words import fixed, named, signed, turn_words

#: More frets than this are not told one by one.
_TOLD = 12


def work_section(given: ReportInput) -> Html:
    """Nothing before a plan."""
    plan = given.plan
    if plan is None:
        return Html("")
    if not plan.feasible:
        return _nothing(given, plan)
    stage, done = stage_of(given), is_done(given)
    screws = {Stage.FILED: ", when it is strung up", Stage.ENDED: ", as planned"}
    removal = removals_um(plan)
    return joined(
        tag("h2", "What was done" if done else "What is to be done"),
        Html("") if done and given.plan_same else _verdict(given, plan),
        Html("") if done else cautions(),
        titled("In doubt", plan_doubts(given)),
        tag("h3", f"Rod, nut and saddles{screws.get(stage, ', before any metal')}"),
        tag("p", _rod_done(plan)) if stage is Stage.ENDED else bullet_list(rod_sentences(plan)),
        screws_table(given, plan),
        tag("h3", "Frets, as planned" if done else "Frets"),
        bullet_list(_cuts(given, removal)),
        cuts_figure(plan, given.doubts) if removal.any() else Html(""),
        tag("p", metal_sentence(plan)) if removal.any() else Html(""),
        titled("Frets too worn all the same", cure_sentences(plan)),
        titled("The truss rod of this neck", _learnt(given)),
    )


def _verdict(given: ReportInput, plan: Plan) -> Html:
    return tag("p", tag("strong", verdict_words(given, plan)))


def _nothing(given: ReportInput, plan: Plan) -> Html:
    """Why no plan is one, and what would help."""
    return joined(
        tag("h2", "What was done"),
        tag("p", tag("strong", "Nothing. " + verdict_sentence(plan))),
        bullet_list(in_the_way_sentences(plan)),
        titled("In doubt", plan_doubts(given)),
        titled("What would cure it", cure_sentences(plan)),
    )


def verdict_words(given: ReportInput, plan: Plan) -> str:
    """Whether the plan meets everything, by what is known now."""
    return verdict_sentence(plan) if given.plan_same else stored_verdict_sentence(plan)


def plan_doubts(given: ReportInput) -> list[str]:
    """What is doubtful in what the plan rests on."""
    said = [] if given.plan_same else [not_same_sentence()]
    return said + doubt_sentences(given.doubts, len(given.instrument.strings))


def screws_table(given: ReportInput, plan: Plan) -> Html:
    """By string what changes and where it ends; only what is changed anywhere."""
    moved = [
        ("nut slot, change", plan.nut_mm, "over fret 1 then", nut_gap_after_mm),
        ("saddle, change", plan.saddle_mm, "over fret 12 then", action_after_mm),
    ]
    columns: list[tuple[str, list[str]]] = []
    for name, change_mm, ends, after in moved:
        changed = bool(np.any(np.abs(change_mm) > 0.5 * STEP_MM))
        if changed:
            columns.append((name, [signed(one, 2) for one in change_mm.tolist()]))
        if changed or after is action_after_mm:
            heights = after(plan, given.instrument).tolist()
            columns.append((ends, [fixed(one, 2) for one in heights]))
    strings = range(1, plan.saddle_mm.size + 1)
    rows = [[str(s), *(cells[s - 1] for _, cells in columns)] for s in strings]
    return table(
        "By string, mm: up is +; set by the string's height, not by the change",
        ["string", *(name for name, _ in columns)],
        rows,
    )


def cautions() -> Html:
    """Before anybody sets to work."""
    return caution_box(caution_before_cut(), caution_strings())


def _cuts(given: ReportInput, removal_um: FloatArray) -> list[str]:
    """A sentence a fret; of many frets those with a note, for the map tells the rest."""
    notes = loose_notes(given.doubts)
    said = cut_sentences(removal_um, notes)
    lowered = (np.flatnonzero(removal_um.any(axis=1)) + 1).tolist()
    if len(lowered) <= _TOLD:
        return said
    noted = [one for n, one in zip(lowered, said, strict=False) if n in notes]
    most = fixed(1e-3 * float(removal_um.max()), 2)
    whole = f"Lower {named('fret', lowered)} by up to {most} mm: where and how much is in the map."
    return [whole, *noted, *said[len(lowered) :]]


def _rod_done(plan: Plan) -> str:
    if abs(plan.relief_change_mm) < LEAST_RELIEF_MM:
        return "The rod was to stay as it was."
    way = "tightened" if plan.turns > 0 else "loosened"
    return (
        f"The rod was to be {way} by {turn_words(plan.turns)}, for "
        f"{signed(plan.relief_change_mm, 2)} mm of relief."
    )


def _learnt(given: ReportInput) -> list[str]:
    return [] if given.rod is None else learnt_sentences(given.rod, given.instrument)
