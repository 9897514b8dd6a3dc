"""The report's section on what stands on the bench."""

from __future__ import annotations

from analysis.instrument import Instrument
from daq.figures.html import Html, joined, table, tag
from daq.report.record import ReportInput
from daq.text.words import fixed


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
