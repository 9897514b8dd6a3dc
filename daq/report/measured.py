"""The report's sections on the instrument and on what was measured."""

from __future__ import annotations

from analysis.instrument import Instrument
from analysis.neck.budgets import Budgets
from analysis.neck.shape import Shape
from daq.documents.movement import relief_changes
from daq.report.figures import heights_figure, tops_figure
from daq.report.html import Html, bullet_list, joined, paragraphs, table, tag
from daq.report.record import ReportInput
from daq.text.budget import HEADERS, budget_rows, budget_sentences
from daq.text.compare import change_sentence, movement_warnings
from daq.text.heights import height_sentence
from daq.text.summary import radius_sentence, relief_sentence, twist_sentence
from daq.text.words import fixed, signed, thou


def instrument_section(given: ReportInput) -> Html:
    """What stands on the bench, by its file."""
    it = given.instrument
    return joined(
        tag("h2", "The instrument"),
        _facts(
            [
                ("scale length", _scale(it)),
                ("frets", f"{it.frets}, body joint at fret {it.body_joint_fret}"),
                ("board radius", f"{_pair(it.board_radius_mm)} mm (nut, last fret), by the file"),
                ("board width", f"{_pair(it.board_width_mm)} mm (nut, last fret)"),
            ]
        ),
        table(
            ["string", "note", "gauge, mm", "kind", "action at 12, mm", "over fret 1, mm"],
            [
                [str(n), s.note, fixed(s.diameter_mm, 3), "wound" if s.wound else "plain",
                 fixed(it.action_mm[n - 1], 2), fixed(it.nut_gap_mm[n - 1], 2)]
                for n, s in enumerate(it.strings, start=1)
            ],
        ),
    )  # fmt: skip


def measured_section(given: ReportInput) -> Html:
    """Heights, relief, twist and radius of each state that was scanned."""
    shapes = [shape for shape in (given.unstrung, given.strung) if shape is not None]
    if not shapes:
        return joined(tag("h2", "What was measured"), tag("p", "Nothing yet."))
    joint = given.instrument.body_joint_fret
    return joined(
        tag("h2", "What was measured"),
        tag("p", "± is twice the standard uncertainty throughout.", class_="note"),
        heights_figure(shapes[0]),
        tag("p", height_sentence(shapes[0])),
        tops_figure(given.strung, given.unstrung, joint),
        *(_state(shape, given.instrument) for shape in shapes),
        _budget(given.budgets, shapes[-1].state),
    )


def compare_section(given: ReportInput) -> Html:
    """What the strings' pull does; nothing before both states are known."""
    if given.strung is None or given.unstrung is None or given.field is None:
        return Html("")
    joint = given.instrument.body_joint_fret
    changes = relief_changes(given.strung, given.unstrung, given.field, joint)
    return joined(
        tag("h2", "Strung against unstrung"),
        table(
            ["string", "strung, mm", "unstrung, mm", "change, mm", "± mm"],
            [
                [str(c.string), fixed(c.strung_mm, 3), fixed(c.unstrung_mm, 3),
                 signed(c.change_mm, 3), fixed(2 * c.u_change_mm, 3)]
                for c in changes
            ],
        ),
        tag("p", change_sentence([c.change_mm for c in changes])),
        bullet_list(movement_warnings(given.field)),
    )  # fmt: skip


def _state(shape: Shape, instrument: Instrument) -> Html:
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
        paragraphs(
            [
                relief_sentence(shape),
                twist_sentence(shape, instrument),
                radius_sentence(shape, instrument),
            ]
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


def _facts(pairs: list[tuple[str, str]]) -> Html:
    parts = [joined(tag("dt", name), tag("dd", value)) for name, value in pairs]
    return tag("dl", *parts, class_="facts")


def _scale(it: Instrument) -> str:
    if it.scale_bass_mm == it.scale_treble_mm:
        return f"{it.scale_bass_mm:g} mm"
    return (
        f"{it.scale_bass_mm:g} mm (bass) and {it.scale_treble_mm:g} mm (treble), "
        f"square at fret {it.square_fret}"
    )


def _pair(values: tuple[float, float]) -> str:
    return f"{values[0]:g} and {values[1]:g}"
