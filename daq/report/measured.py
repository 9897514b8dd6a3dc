"""What was measured: the neck in a few sentences and pictures, and what deserves a second look."""

from __future__ import annotations

from daq.documents.movement import relief_changes
from daq.figures.html import Html, bullet_list, joined, tag, titled
from daq.figures.views import plan_figure, wear_figure
from daq.report.record import ReportInput
from daq.text.compare import change_sentence, movement_warnings
from daq.text.heights import height_sentence
from daq.text.repeats import repeat_sentences
from daq.text.summary import relief_sentence, twist_sentence
from daq.text.wear import loose_sentences, wear_sentences


def measured_section(given: ReportInput) -> Html:
    """How it plays comes from the strung neck where there is one, its metal from the unstrung."""
    title = tag("h2", "What was measured")
    if not given.shapes:
        return joined(title, tag("p", "Nothing yet: no scan was read."))
    # without a plan the first page has a picture of these
    first, it = given.plan is None, given.instrument
    alone = first and given.wear is None
    return joined(
        title,
        bullet_list(_found(given)),
        titled("Worth a second look", _doubts(given)),
        Html("") if alone else plan_figure(given.shapes, it),
        Html("") if first or given.wear is None else wear_figure(given.wear),
    )


def _found(given: ReportInput) -> list[str]:
    plays, metal = given.shapes[0], given.shapes[-1]
    said = [
        relief_sentence(plays),
        *_change(given),
        twist_sentence(plays, given.instrument),
        height_sentence(metal),
    ]
    if given.wear is not None:
        said += wear_sentences(given.wear, given.tip)
    return said


def _change(given: ReportInput) -> list[str]:
    if given.strung is None or given.unstrung is None or given.field is None:
        return []
    joint = given.instrument.body_joint_fret
    changes = relief_changes(given.strung, given.unstrung, given.field, joint)
    return [change_sentence([c.change_mm for c in changes])]


def _doubts(given: ReportInput) -> list[str]:
    """What does not hold for sure: of each state, of both together, of repeated scans."""
    said = [shape.remark for shape in given.shapes if shape.remark]
    said += loose_sentences(given.loose)
    said += [line for one in given.repeats.values() for line in repeat_sentences(one)]
    if given.field is not None:
        said += movement_warnings(given.field, given.findings, len(given.instrument.strings))
    return said
