"""For the file drawer: all that a repairer may want to look up later, set apart."""

from __future__ import annotations

from analysis.form.along import room_mm
from analysis.plan.plan import Plan
from daq.figures.cells import heights_figure, margins_figure
from daq.figures.html import Html, bullet_list, joined, tag, titled
from daq.figures.metal import metal_figure
from daq.figures.planfigures import bends_figure
from daq.figures.tightstrings import tight_figure
from daq.figures.views import across_figure, profiles_figure, rocker_figure
from daq.report.numbers import numbers_section
from daq.report.record import ReportInput
from daq.report.stage import Stage, stage_of
from daq.text.across import across_sentences
from daq.text.along import fall_sentence, hump_sentences, s_sentence
from daq.text.assumptions import assumptions
from daq.text.bench import bench_notes, bench_steps
from daq.text.chokes import choke_sentences
from daq.text.verify import law_sentence
from daq.text.weighed import weighed_sections

STOP = (
    "From here on it is for the file drawer: pictures, margins, grounds and tables, for whoever "
    "has this neck on the bench again. Nothing in it changes what is said above."
)


def drawer(given: ReportInput) -> Html:
    """Apart from what a customer reads; nothing before a scan."""
    if not given.shapes:
        return Html("")
    return tag(
        "section",
        tag("h2", "For the file drawer", class_="apart"),
        tag("p", STOP),
        _next(given),
        _grounds(given),
        _neck(given),
        numbers_section(given),
        class_="drawer",
    )


def _next(given: ReportInput) -> Html:
    """What the workshop does next, in its own words."""
    said = [given.next_words] if given.next_words else []
    if given.cuts:
        said.append(law_sentence(given.law))
    said += [f"Not looked at yet: {name}, scanned since." for name in given.since]
    return titled("Where the work stands", said)


def _grounds(given: ReportInput) -> Html:
    """What the plan rests on and hangs on."""
    plan = given.plan
    if plan is None:
        return Html("")
    return joined(
        tag("h2", "The plan's grounds"),
        titled("What this rests on", assumptions(plan, given.instrument)),
        Html("") if given.tight is None else tight_figure(given.tight, plan),
        _margins(given, plan),
        _bends(plan),
        _weighed(given, plan),
        _bench(given, plan),
    )


def _margins(given: ReportInput, plan: Plan) -> Html:
    """Maps that do not stand on the first page."""
    if stage_of(given) is Stage.NO_PLAN:
        shown = plan.short or plan.blocking
        return margins_figure(plan.now, "Margins as it stands") if shown else Html("")
    if stage_of(given) is Stage.PLANNED:
        return Html("")
    return margins_figure(plan.after, "Margins after the plan")


def _bends(plan: Plan) -> Html:
    if plan.chokes is None:
        return Html("")
    return joined(titled("Bends", choke_sentences(plan)), bends_figure(plan, plan.chokes))


def _weighed(given: ReportInput, plan: Plan) -> Html:
    """What uncertainty costs, what each step buys, and with a plan how long the frets last."""
    weighed = given.weighed
    if weighed is None:
        return Html("")
    told = weighed_sections(weighed, plan.feasible)
    sections = joined(*(titled(title, said) for title, said in told))
    return joined(metal_figure(plan, weighed), sections) if plan.feasible else sections


def _bench(given: ReportInput, plan: Plan) -> Html:
    """How the cuts were to be made; the sheet with its boxes is a page of its own."""
    if given.bench is None or not plan.feasible or not plan.remove_mm.any():
        return Html("")
    steps = [*bench_steps(given.bench, plan), *bench_notes(given.bench)]
    return titled("On the bench, neck unstrung", steps)


def _neck(given: ReportInput) -> Html:
    """Along the strings, among neighbours, heights, across."""
    it = given.instrument
    # with the frets filed, their heights before and after stand further up
    told = given.unstrung is not None and given.filed is not None
    return joined(
        tag("h2", "The neck in pictures"),
        rocker_figure(given.shapes[-1], it),
        profiles_figure(given.shapes, given.along, it.body_joint_fret),
        bullet_list(_along(given)),
        Html("") if told else heights_figure(given.shapes[-1]),
        across_figure(given.shapes, given.across, given.arcs, it),
        bullet_list(_across(given)),
    )


def _along(given: ReportInput) -> list[str]:
    """The line as it plays, what stands out of it as the metal is."""
    plays, metal = (given.along.get(shape.state) for shape in (given.shapes[0], given.shapes[-1]))
    if plays is None or metal is None:
        return []
    it = given.instrument
    return [s_sentence(plays), fall_sentence(plays, it), *hump_sentences(metal, room_mm(it))]


def _across(given: ReportInput) -> list[str]:
    if given.across is None:
        return []
    return across_sentences(given.across, given.shapes[-1], given.instrument)
