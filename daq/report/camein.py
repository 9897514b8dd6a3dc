"""What came in: the instrument by its file, its strings, who plays it, when it was scanned."""

from __future__ import annotations

from analysis.instrument import Instrument
from daq.figures.html import Html, joined, tag
from daq.report.dates import moment_words
from daq.report.record import ReportInput
from daq.report.tabled import table
from daq.text.assumptions import playing_sentence
from daq.text.rod_words import setting_words
from daq.text.target import target_sentences
from daq.text.words import fixed


def came_in_section(given: ReportInput) -> Html:
    """By the instrument's file, string heights as they were measured by hand then."""
    it = given.instrument
    u = fixed(2.0 * it.u_action_mm, 2)
    return joined(
        tag("h2", "What came in"),
        facts(
            [
                ("instrument", it.name),
                ("scale length", _scale(it)),
                ("frets", f"{it.frets}, body joint at fret {it.body_joint_fret}"),
                ("board radius", f"{_pair(it.board_radius_mm)} mm (nut, last fret), by its file"),
                ("board width", f"{_pair(it.board_width_mm)} mm (nut, last fret)"),
                *_player(given),
            ]
        ),
        table(
            f"Its strings; heights by hand, mm, ± {u}",
            ["string", "note", "gauge, mm", "kind", "over fret 1", "over fret 12"],
            [
                [str(n), s.note, fixed(s.diameter_mm, 3), "wound" if s.wound else "plain",
                 fixed(it.nut_gap_mm[n - 1], 2), fixed(it.action_mm[n - 1], 2)]
                for n, s in enumerate(it.strings, start=1)
            ],
        ),
    )  # fmt: skip


def scans_table(given: ReportInput) -> Html:
    """Every scan of the job."""
    return table(
        "Scans of this job",
        ["scan", "state", "begun", "rod"],
        [
            [one.name, one.state, moment_words(one.begun), setting_words(one.turns)]
            for one in given.scans
        ],
        kind="words",
    )


def facts(pairs: list[tuple[str, str]]) -> Html:
    """Names and what they are."""
    parts = [joined(tag("dt", name), tag("dd", value)) for name, value in pairs]
    return tag("dl", *parts, class_="facts")


def _player(given: ReportInput) -> list[tuple[str, str]]:
    if given.plan is None:
        return []
    asked = [("playing asked for", playing_sentence(given.plan).removeprefix("Playing: "))]
    besides = target_sentences(given.plan.target)
    return [*asked, ("besides", " ".join(besides))] if besides else asked


def _scale(it: Instrument) -> str:
    if it.scale_bass_mm == it.scale_treble_mm:
        return f"{it.scale_bass_mm:g} mm"
    return (
        f"{it.scale_bass_mm:g} mm (bass) and {it.scale_treble_mm:g} mm (treble), "
        f"square at fret {it.square_fret}"
    )


def _pair(values: tuple[float, float]) -> str:
    return f"{values[0]:g} and {values[1]:g}"
