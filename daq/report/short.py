"""The report's head for a customer: found, decided, done, not sure, a few sentences each."""

from __future__ import annotations

from analysis.plan.plan import Plan
from daq.figures.html import Html, joined, tag
from daq.report.after import done_sentence
from daq.report.record import ReportInput
from daq.report.work import plan_doubts, verdict_words
from daq.text.cures import cure_sentences
from daq.text.heights import height_sentence
from daq.text.plan import metal_sentence, verdict_sentence
from daq.text.sensitivity import metal_known_sentence
from daq.text.setup import rod_sentences
from daq.text.summary import relief_sentence
from daq.text.verify import verdict_counts
from daq.text.wear import wear_sentences
from daq.text.words import counted

#: Doubts told here; the others stand beside the plan.
_TOLD = 2


def short_section(given: ReportInput) -> Html:
    """A line for each of them that there is; nothing before a scan."""
    if not given.shapes:
        return Html("")
    lines = [
        ("Found", _found(given)),
        ("Decided", [] if given.plan is None else _decided(given, given.plan)),
        ("Done", _done(given)),
        ("Not sure", _unsure(given)),
    ]
    parts = [joined(tag("dt", name), tag("dd", " ".join(said))) for name, said in lines if said]
    return joined(tag("h2", "In short"), tag("dl", *parts, class_="facts lines"))


def _found(given: ReportInput) -> list[str]:
    said = [relief_sentence(given.shapes[0])]
    if given.wear is not None:
        return [*said, _first(wear_sentences(given.wear, given.tip)[0])]
    return [*said, height_sentence(given.shapes[-1])]


def _decided(given: ReportInput, plan: Plan) -> list[str]:
    """What is done to the neck, or why nothing is and the cheapest that would cure it."""
    if not plan.feasible:
        return [verdict_sentence(plan).removesuffix(" In the way:"), *cure_sentences(plan)[:1]]
    return [verdict_words(given, plan), rod_sentences(plan)[0], metal_sentence(plan)]


def _done(given: ReportInput) -> list[str]:
    counts = [verdict_counts(given.cuts)] if given.cuts else []
    if not counts and given.strung_end is None:
        return []
    return [*counts, done_sentence(given)]


def _unsure(given: ReportInput) -> list[str]:
    said = [] if given.plan is None else plan_doubts(given)
    told = [_first(one) for one in said[:_TOLD]]
    if len(said) > _TOLD:
        told.append(f"{counted(len(said) - _TOLD, 'more doubt')}: beside the plan.")
    metal = None if given.weighed is None else given.weighed.sensitivity
    if metal is not None and metal.plan.feasible:
        told.append(metal_known_sentence(metal))
    return told


def _first(said: str) -> str:
    """The first sentence; the others stand where it is told in full."""
    first, stop, _ = said.partition(". ")
    return f"{first}." if stop else first
