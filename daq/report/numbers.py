"""The report's tables: what the pictures show, to be read off."""

from __future__ import annotations

from analysis.neck.budgets import Budgets
from analysis.neck.shape import Shape
from daq.documents.movement import relief_changes
from daq.figures.html import Html, bullet_list, joined, table, tag
from daq.report.record import ReportInput
from daq.report.tables import (
    along_table,
    heights_table,
    humps_table,
    off_chord_table,
    radius_table,
    wear_table,
)
from daq.text.budget import HEADERS, budget_rows, budget_sentences
from daq.text.words import fixed, signed, thou


def numbers_section(given: ReportInput) -> Html:
    """Relief, lines, heights, wear, radii, the uncertainty's budget; nothing before a scan."""
    if not given.shapes:
        return Html("")
    joint = given.instrument.body_joint_fret
    return joined(
        tag("h2", "The numbers"),
        *(_relief(shape) for shape in given.shapes),
        _changes(given),
        *(along_table(state, along) for state, along in given.along.items()),
        humps_table(given.along.get(given.shapes[-1].state, ())),
        heights_table(given.shapes[-1]),
        *(off_chord_table(shape, joint) for shape in given.shapes),
        wear_table(given.wear),
        radius_table(given.across),
        _budget(given.budgets, given.shapes[0].state),
    )


def _relief(shape: Shape) -> Html:
    return joined(
        tag("h3", f"Relief, {shape.state}"),
        table(
            ["string", "relief, mm", "± mm", "thousandths of an inch", "deepest at fret"],
            [
                [str(n), fixed(r.relief_mm, 3), fixed(2 * r.u_relief_mm, 3),
                 fixed(thou(r.relief_mm), 1), str(r.at_fret or "-")]
                for n, r in enumerate(shape.relief, start=1)
            ],
        ),
    )  # fmt: skip


def _changes(given: ReportInput) -> Html:
    if given.strung is None or given.unstrung is None or given.field is None:
        return Html("")
    joint = given.instrument.body_joint_fret
    changes = relief_changes(given.strung, given.unstrung, given.field, joint)
    return joined(
        tag("h3", "Relief, strung against unstrung"),
        table(
            ["string", "strung, mm", "unstrung, mm", "change, mm", "± mm"],
            [
                [str(c.string), fixed(c.strung_mm, 3), fixed(c.unstrung_mm, 3),
                 signed(c.change_mm, 4), fixed(2 * c.u_change_mm, 4)]
                for c in changes
            ],
        ),
    )  # fmt: skip


def _budget(budgets: Budgets | None, state: str) -> Html:
    if budgets is None:
        return Html("")
    return joined(
        tag("h3", f"Where the uncertainty comes from, {state}"),
        table(HEADERS, budget_rows(budgets)),
        bullet_list(budget_sentences(budgets)),
    )
