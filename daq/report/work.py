"""The report's sections on the plan, the cut and what to expect."""

from __future__ import annotations

import numpy as np

from analysis.plan.plan import Plan
from daq.report.figures import cuts_figure, margins_figure
from daq.report.html import Html, bullet_list, joined, table, tag
from daq.report.record import ReportInput
from daq.text.assumptions import assumptions, playing_sentence
from daq.text.bench import bench_notes
from daq.text.chokes import choke_sentences
from daq.text.cures import cure_sentences, in_the_way_sentences
from daq.text.cuts import cut_sentences, removals_um
from daq.text.doubts import doubt_sentences, loose_notes
from daq.text.margins import tally, trouble_sentences
from daq.text.plan import metal_sentence, verdict_sentence
from daq.text.setup import setup_sentences
from daq.text.verify import law_sentence, next_step, verdict_counts
from daq.text.weighed import weighed_sections
from daq.text.words import fixed


def plan_section(given: ReportInput) -> Html:
    """Setup, cuts, metal, margins before and after, and what the plan rests on."""
    plan = given.plan
    if plan is None:
        return Html("")
    return joined(
        tag("h2", "The plan"),
        tag("p", playing_sentence(plan)),
        tag("p", tag("strong", verdict_sentence(plan))),
        bullet_list(in_the_way_sentences(plan)),
        _titled("In doubt", doubt_sentences(given.doubts, len(given.instrument.strings))),
        _titled("What would cure it", cure_sentences(plan)),
        margins_figure(plan.now, "Margins as it stands"),
        _titled("Bends", choke_sentences(plan)),
        _carried_out(given, plan) if plan.feasible else Html(""),
        _weighed(given, plan),
        _titled("What this rests on", assumptions(plan, given.instrument)),
    )


def _carried_out(given: ReportInput, plan: Plan) -> Html:
    removal = removals_um(plan)
    return joined(
        _titled("Set up first", setup_sentences(plan, given.instrument)),
        _titled("Cuts", cut_sentences(removal, loose_notes(given.doubts))),
        cuts_figure(removal) if removal.any() else Html(""),
        tag("p", metal_sentence(plan)),
        _bench(given, plan),
        margins_figure(plan.after, "Margins after the plan"),
    )


def _weighed(given: ReportInput, plan: Plan) -> Html:
    if given.weighed is None:
        return Html("")
    sections = weighed_sections(given.weighed, plan.feasible)
    return joined(*(_titled(title, said) for title, said in sections))


def verify_section(given: ReportInput) -> Html:
    """What came off against what was planned; nothing before the cut was scanned."""
    if not given.cuts:
        return Html("")
    return joined(
        tag("h2", "After the cut"),
        table(
            ["fret", "string", "planned, µm", "achieved, µm", "± µm", "verdict"],
            [
                [str(c.fret), str(c.string), fixed(c.planned_um, 1), fixed(c.achieved_um, 1),
                 fixed(2 * c.u_achieved_um, 1), c.verdict]
                for c in given.cuts
            ],
        ),
        tag("p", verdict_counts(given.cuts)),
        tag("p", law_sentence(given.law)),
        tag("p", tag("strong", given.next_words or next_step(given.cuts))),
    )  # fmt: skip


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


def _titled(title: str, lines: list[str]) -> Html:
    return joined(tag("h3", title), bullet_list(lines)) if lines else Html("")


def _bench(given: ReportInput, plan: Plan) -> Html:
    """In short; the work itself has a sheet of its own."""
    if given.bench is None or not plan.remove_mm.any():
        return Html("")
    return _titled("On the bench, neck unstrung", bench_notes(given.bench)[:1])
