"""Before and after: relief and string heights, fret heights, what came off against the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analysis.plan.clearances import Clearance
from analysis.plan.plan import Plan
from daq.documents.action import action_after_mm
from daq.documents.stored_strung import StrungThen
from daq.figures.afterfigures import achieved_figure, relief_figure
from daq.figures.cells import layer_figure
from daq.figures.html import Html, bullet_list, joined, tag
from daq.figures.layers import heights
from daq.report.glance import action_now_mm
from daq.report.record import ReportInput
from daq.report.stage import Stage, is_done, margins_now, stage_of
from daq.report.tabled import table
from daq.steps.law import U_MEANT_UM
from daq.text.after import heights_sentence, strung_sentences
from daq.text.margins import tally, trouble_sentences
from daq.text.verify import verdict_counts
from daq.text.words import fixed


def after_section(given: ReportInput) -> Html:
    """With a plan that is one: foretold before the work, measured after it."""
    plan = given.plan
    if plan is None or not plan.feasible or given.strung is None:
        return Html("")
    end = given.strung_end
    foretold = Html("") if is_done(given) else tag("p", "The after is foretold by the plan.")
    return joined(
        tag("h2", "Before and after"),
        foretold,
        _by_string(given, plan),
        _end(end) if end is not None else Html(""),
        _room(given, plan),
        _cuts(given),
        _heights(given),
    )


def _by_string(given: ReportInput, plan: Plan) -> Html:
    """Relief and string heights: as they came in, as planned, now."""
    assert given.strung is not None
    end = given.strung_end
    measured = {} if end is None else {one.string: one for one in end.check.relief}
    planned = _planned_relief(given)
    before = given.instrument.action_mm
    after, now = action_after_mm(plan, given.instrument).tolist(), action_now_mm(given, plan)
    rows = []
    for n, relief in enumerate(given.strung.relief, start=1):
        row = [str(n), fixed(relief.relief_mm, 3), fixed(2.0 * relief.u_relief_mm, 3)]
        row += [fixed(value, 3) for value in planned.get(n, (np.nan, np.nan))]
        if end is not None:
            one = measured.get(n)
            row += ["-", "-"] if one is None else [
                fixed(one.measured_mm, 3), fixed(2.0 * one.u_measured_mm, 3)
            ]  # fmt: skip
        row += [fixed(before[n - 1], 2), fixed(after[n - 1], 2)]
        row += [] if end is None else [fixed(now[n - 1], 2)]
        rows.append(row)
    ended = end is not None
    headers = ["string", "relief before", "±", "relief planned", "±"]
    headers += ["relief now", "±"] if ended else []
    headers += ["height before", "height planned", *(["height now"] if ended else [])]
    return table(
        "Relief and string height over fret 12, mm, by string", headers, rows, kind="close"
    )


def _planned_relief(given: ReportInput) -> dict[int, tuple[float, float]]:
    if given.bench is None:
        return {}
    for one in given.bench.expected.strung:
        if one.what == "relief":
            pairs = zip(one.value_mm.tolist(), one.u_mm, strict=True)
            return {n: (value, 2.0 * float(u)) for n, (value, u) in enumerate(pairs, start=1)}
    return {}


def _room(given: ReportInput, plan: Plan) -> Html:
    """The tallies; the maps stand on the first page."""
    when = {Stage.PLANNED: "as planned", Stage.FILED: "as filed", Stage.ENDED: "now"}
    said = [
        *tallies(plan.now, "as it came in"),
        *tallies(margins_now(given), when[stage_of(given)]),
        *trouble_sentences(margins_now(given), 5),
    ]
    return joined(tag("h3", "Room under the strings"), bullet_list(said))


def tallies(margins: Sequence[Clearance], when: str) -> list[str]:
    straight = [c for c in margins if not c.bend]
    bent = [c for c in margins if c.bend]
    said = [tally(f"Played straight, {when}", straight)] if straight else []
    return said + ([tally(f"Bent, {when}", bent)] if bent else [])


def _cuts(given: ReportInput) -> Html:
    if not given.cuts:
        return Html("")
    return joined(
        tag("h3", "Metal: what was planned and what came off"),
        tag("p", verdict_counts(given.cuts)),
        achieved_figure(given.cuts, given.law, U_MEANT_UM),
    )


def _heights(given: ReportInput) -> Html:
    """Fret heights of the unstrung neck before the file and after it."""
    if given.unstrung is None or given.filed is None:
        return Html("")
    return joined(
        tag("h3", "Fret heights before the file and after it"),
        *(
            layer_figure(replace(heights(shape), title=f"Fret heights over the board, mm, {when}"))
            for shape, when in ((given.unstrung, "as it came in"), (given.filed, "filed"))
        ),
    )


def _end(end: StrungThen) -> Html:
    known = np.isfinite(end.check.off_um).any()
    return joined(
        relief_figure(end.check.relief),
        bullet_list(strung_sentences(end.check)) if known else Html(""),
        tag("p", heights_sentence(end.heights), class_="note"),
    )
