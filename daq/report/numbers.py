"""The numbers: tables of what the pictures show, to be read off."""

from __future__ import annotations

from analysis.neck.budgets import Budgets
from analysis.neck.shape import Shape
from daq.documents.movement import relief_changes
from daq.figures.html import Html, bullet_list, joined, tag
from daq.report.record import ReportInput
from daq.report.tabled import beside, table
from daq.report.tables import (
    along_table,
    cuts_table,
    heights_table,
    humps_table,
    off_chord_table,
    radius_table,
    wear_table,
)
from daq.text.budget import HEADERS, budget_rows, budget_sentences
from daq.text.words import fixed, signed, thou


def numbers_section(given: ReportInput) -> Html:
    """Relief, lines, cuts, heights, wear, radii, the budget; nothing before a scan."""
    if not given.shapes:
        return Html("")
    joint = given.instrument.body_joint_fret
    filed = [] if given.filed is None else [heights_table(given.filed, "filed")]
    return joined(
        tag("h2", "The numbers"),
        tag("h3", "Along the strings"),
        beside(
            *(_relief(shape) for shape in given.shapes),
            _changes(given),
            *(along_table(state, along) for state, along in given.along.items()),
        ),
        _cuts(given),
        tag("h3", "Fret tops and heights"),
        beside(
            heights_table(given.shapes[-1]),
            *filed,
            *(off_chord_table(shape, joint) for shape in given.shapes),
            humps_table(given.along.get(given.shapes[-1].state, ()), len(given.instrument.strings)),
        ),
        *_crowns(given),
        _budget(given.budgets, given.shapes[0].state),
    )


def _crowns(given: ReportInput) -> list[Html]:
    tables = beside(wear_table(given.wear), radius_table(given.across))
    return [tag("h3", "Wear and radius"), tables] if tables else []


def _cuts(given: ReportInput) -> Html:
    if not given.cuts:
        return Html("")
    return joined(tag("h3", "Metal"), cuts_table(given.cuts))


def _relief(shape: Shape) -> Html:
    return table(
        f"Relief, {shape.state}, mm",
        ["string", "relief", "±", "in 0.001 inch", "deepest at fret"],
        [
            [str(n), fixed(r.relief_mm, 3), fixed(2 * r.u_relief_mm, 3),
             fixed(thou(r.relief_mm), 1), str(r.at_fret or "-")]
            for n, r in enumerate(shape.relief, start=1)
        ],
        kind="close",
    )  # fmt: skip


def _changes(given: ReportInput) -> Html:
    if given.strung is None or given.unstrung is None or given.field is None:
        return Html("")
    joint = given.instrument.body_joint_fret
    changes = relief_changes(given.strung, given.unstrung, given.field, joint)
    return table(
        "Relief that the strings' pull adds, mm",
        ["string", "change", "±"],
        [[str(c.string), signed(c.change_mm, 4), fixed(2 * c.u_change_mm, 4)] for c in changes],
        kind="close",
    )


def _budget(budgets: Budgets | None, state: str) -> Html:
    if budgets is None:
        return Html("")
    return joined(
        tag("h3", "Where the uncertainty comes from"),
        table(f"Budget of the {state} neck", HEADERS, budget_rows(budgets)),
        bullet_list(budget_sentences(budgets)),
    )
