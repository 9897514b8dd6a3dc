"""The report's sections on the plan and what to expect of it."""

from __future__ import annotations

import numpy as np

from analysis.plan.plan import Plan
from daq.figures.cells import margins_figure
from daq.figures.html import Html, bullet_list, joined, tag, titled
from daq.figures.metal import life_figure, metal_figure
from daq.figures.planfigures import bends_figure, cuts_figure, in_the_way_figure
from daq.figures.tightstrings import tight_figure
from daq.report.record import ReportInput
from daq.text.assumptions import assumptions, playing_sentence
from daq.text.bench import bench_notes
from daq.text.chokes import choke_sentences
from daq.text.cures import cure_sentences, in_the_way_sentences
from daq.text.cuts import cut_sentences, removals_um
from daq.text.doubts import doubt_sentences, loose_notes
from daq.text.margins import tally, trouble_sentences
from daq.text.plan import (
    metal_sentence,
    not_same_sentence,
    stored_verdict_sentence,
    verdict_sentence,
)
from daq.text.rod import rod_sentences
from daq.text.setup import setup_sentences
from daq.text.weighed import weighed_sections
from daq.text.words import fixed


def plan_section(given: ReportInput) -> Html:
    """Its doubts first, then where it is tight, what to do, what each thing buys."""
    plan = given.plan
    if plan is None:
        return Html("")
    return joined(
        tag("h2", "The plan"),
        tag("p", playing_sentence(plan)),
        tag("p", tag("strong", verdict_words(given, plan))),
        bullet_list(in_the_way_sentences(plan)),
        titled("In doubt", plan_doubts(given)),
        Html("") if plan.feasible else _no_plan(given, plan),
        Html("") if given.tight is None else tight_figure(given.tight, plan.feasible),
        _carried_out(given, plan) if plan.feasible else Html(""),
        margins_figure(plan.now, "Margins as it stands"),
        margins_figure(plan.after, "Margins after the plan") if plan.feasible else Html(""),
        _bends(plan),
        _weighed(given, plan),
        titled("What this rests on", assumptions(plan, given.instrument)),
        _rod(given),
    )


def verdict_words(given: ReportInput, plan: Plan) -> str:
    """Whether the plan meets everything, by what is known now."""
    return verdict_sentence(plan) if given.plan_same else stored_verdict_sentence(plan)


def plan_doubts(given: ReportInput) -> list[str]:
    """What is doubtful in what the plan rests on."""
    said = [] if given.plan_same else [not_same_sentence()]
    return said + doubt_sentences(given.doubts, len(given.instrument.strings))


def _no_plan(given: ReportInput, plan: Plan) -> Html:
    return joined(
        in_the_way_figure(plan, given.doubts) if plan.short or plan.blocking else Html(""),
        titled("What would cure it", cure_sentences(plan)),
    )


def _carried_out(given: ReportInput, plan: Plan) -> Html:
    removal = removals_um(plan)
    return joined(
        titled("Set up first", setup_sentences(plan, given.instrument)),
        titled("Cuts", cut_sentences(removal, loose_notes(given.doubts))),
        cuts_figure(plan, given.doubts) if removal.any() else Html(""),
        tag("p", metal_sentence(plan)),
        titled("Frets too worn all the same", cure_sentences(plan)),
        _bench(given, plan),
    )


def _bends(plan: Plan) -> Html:
    if plan.chokes is None:
        return Html("")
    return joined(titled("Bends", choke_sentences(plan)), bends_figure(plan, plan.chokes))


def _weighed(given: ReportInput, plan: Plan) -> Html:
    """What uncertainty costs, what each step buys, and with a plan how long the frets last."""
    weighed = given.weighed
    if weighed is None:
        return Html("")
    said = weighed_sections(weighed, plan.feasible)
    sections = joined(*(titled(title, lines) for title, lines in said))
    if not plan.feasible:
        return sections
    return joined(metal_figure(plan, weighed), sections, life_figure(weighed.life))


def _rod(given: ReportInput) -> Html:
    if given.rod is None:
        return Html("")
    return titled("The truss rod of this neck", rod_sentences(given.rod, given.instrument))


def expect_section(given: ReportInput) -> Html:
    """What the player will find, as far as the plan can tell."""
    if given.plan is None or not given.plan.feasible:
        return Html("")
    return joined(tag("h2", "What to expect"), bullet_list(expectations(given.plan)))


def expectations(plan: Plan) -> list[str]:
    """Margins, fret heights and what still may buzz once the plan is carried out."""
    straight = [c for c in plan.after if not c.bend]
    bent = [c for c in plan.after if c.bend]
    said = [tally("Played straight", straight)]
    if bent:
        said.append(tally("Bent", bent))
    said += trouble_sentences(plan.after)
    height = plan.height_after_mm
    if np.isfinite(height).any():
        fret, string = np.unravel_index(int(np.nanargmin(height)), height.shape)
        said.append(
            f"The lowest fret left is fret {fret + 1} under string {string + 1}: "
            f"{fixed(float(height[fret, string]), 2)} mm."
        )
    said.append(
        "This holds for the playing named above; harder playing, other strings, another pitch or "
        "another season's humidity ask for another look."
    )
    return said


def _bench(given: ReportInput, plan: Plan) -> Html:
    """In short; the work itself has a sheet of its own."""
    if given.bench is None or not plan.remove_mm.any():
        return Html("")
    return titled("On the bench, neck unstrung", bench_notes(given.bench)[:1])
