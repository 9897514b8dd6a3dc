"""The report's section on the cut: planned against achieved, then the strung neck at the end."""

from __future__ import annotations

import numpy as np

from daq.documents.stored_strung import StrungThen
from daq.figures.afterfigures import achieved_figure, relief_figure
from daq.figures.cells import margins_figure
from daq.figures.html import Html, bullet_list, joined, table, tag
from daq.report.record import ReportInput
from daq.steps.law import U_MEANT_UM
from daq.text.after import heights_sentence, relief_cells, strung_sentences
from daq.text.margins import tally, trouble_sentences
from daq.text.verify import law_sentence, next_step, verdict_counts
from daq.text.words import fixed


def verify_section(given: ReportInput) -> Html:
    """What came off against what was planned; nothing before the work was scanned."""
    end = given.strung_end
    if not given.cuts and end is None:
        return Html("")
    return joined(
        tag("h2", "After the cut"),
        tag("p", tag("strong", done_sentence(given))),
        _cuts(given) if given.cuts else Html(""),
        _end(end) if end is not None else Html(""),
    )


def done_sentence(given: ReportInput) -> str:
    """How the work stands and what to do now."""
    return given.next_words or next_step(given.cuts)


def _cuts(given: ReportInput) -> Html:
    rows = [
        [str(c.fret), str(c.string), fixed(c.planned_um, 1), fixed(c.achieved_um, 1),
         fixed(2 * c.u_achieved_um, 1), c.verdict]
        for c in given.cuts
    ]  # fmt: skip
    return joined(
        tag("p", verdict_counts(given.cuts)),
        achieved_figure(given.cuts, given.law, U_MEANT_UM),
        tag("p", law_sentence(given.law)),
        table(["fret", "string", "planned, µm", "achieved, µm", "± µm", "verdict"], rows),
    )


def _end(end: StrungThen) -> Html:
    straight = [c for c in end.margins if not c.bend]
    bent = [c for c in end.margins if c.bend]
    said = [tally("Played straight", straight)] + ([tally("Bent", bent)] if bent else [])
    known = np.isfinite(end.check.off_um).any()
    return joined(
        tag("h3", "The strung neck against what was predicted"),
        relief_figure(end.check.relief),
        table(
            ["string", "predicted, mm", "±", "measured, mm", "±", "off, mm", "±", "verdict"],
            [relief_cells(one) for one in end.check.relief],
        ),
        bullet_list(strung_sentences(end.check)) if known else Html(""),
        bullet_list([*said, *trouble_sentences(end.margins)]),
        tag("p", heights_sentence(end.heights), class_="note"),
        margins_figure(end.margins, "Margins of the strung neck at the end"),
    )
