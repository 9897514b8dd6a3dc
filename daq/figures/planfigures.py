"""The report's figures of cells that show a plan: cuts, what is in its way, bends."""

from __future__ import annotations

import numpy as np

from analysis.instrument import FloatArray
from analysis.plan.bends import WIDTHS
from analysis.plan.chokes import Chokes
from analysis.plan.plan import Plan
from daq.documents.plan import short_mm
from daq.figures.boardmap import Cell, cell_map
from daq.figures.cells import figure, layer_figure
from daq.figures.html import Html
from daq.figures.layers import cuts, fret_names, marked_names
from daq.reading.doubts import Doubts
from daq.text.cures import too_worn
from daq.text.cuts import removals_um
from daq.text.margins import MARKS
from daq.text.words import fixed

_ON_TOP = "Nut on the left, string 1 on top."


def cuts_figure(plan: Plan, doubts: Doubts) -> Html:
    """What is to come off in every cell; empty where a fret stays. Doubtful frets and tops, and
    frets to replace, are marked."""
    return layer_figure(cuts(removals_um(plan), doubts, too_worn(plan)))


def _marked_names(plan: Plan, doubts: Doubts) -> tuple[list[str], list[str]]:
    return marked_names(plan.remove_mm.shape[0], doubts, too_worn(plan))


def in_the_way_figure(plan: Plan, doubts: Doubts) -> Html:
    """Where a plan fails: what stays short over each fret, and frets that may lose no more."""
    frets, strings = plan.remove_mm.shape
    short = _short_um(plan)
    spent = np.zeros((frets, strings), dtype=bool)
    asked = np.zeros((frets, strings), dtype=bool)
    for hurdle in (one for block in plan.blocking for one in block.hurdles):
        member = hurdle.member
        if member.kind == "cut":
            spent[member.at - 1, member.string - 1] = True
        if member.kind == "margin":
            asked[member.at - 1, member.string - 1] = True
    cells = [
        [_blocked(float(short[f, s]), bool(asked[f, s]), bool(spent[f, s])) for f in range(frets)]
        for s in range(strings)
    ]
    legend = [
        Cell("touches or may: short by so many µm, whatever a plan does", "buzzes"),
        Cell("! cannot be clear with the others", "undecided"),
        Cell("= may lose no more", "crown"),
    ]
    names, meanings = _marked_names(plan, doubts)
    title = "What is in the way"
    marks = f" {'; '.join(meanings)}." if meanings else ""
    words = f"Numbers: what stays short over this fret at the least, guard included. {_ON_TOP}"
    return figure(title, words + marks, cell_map(title, words, names, cells, legend))


def _short_um(plan: Plan) -> FloatArray:
    """[frets, strings]: the worst of what stays short over each fret."""
    out = np.zeros(plan.remove_mm.shape)
    for c in plan.short:
        at = (c.worst_at - 1, c.string - 1)
        out[at] = max(out[at], 1e3 * short_mm(c, plan.playing.guard))
    return out


def _blocked(short_um: float, asked: bool, spent: bool) -> Cell:
    mark = "!" * asked + "=" * spent
    if short_um > 0.0:
        return Cell(fixed(short_um, 0) if short_um >= 0.5 else "<1", "buzzes", corner=mark)
    if asked:
        return Cell(mark, "undecided")
    return Cell(mark, "crown") if spent else Cell("", "none")


def bends_figure(plan: Plan, chokes: Chokes) -> Html:
    """How far each string may be bent at each fret; the last fret has none beyond it."""
    wide = plan.playing.bend_semitones
    semitones = chokes.widest_after if plan.feasible else chokes.widest_now
    found = chokes.after if plan.feasible else chokes.now
    choking = {(one.fretted, one.string): one.verdict for one in found}
    cells = [
        [_bend(float(one), wide, choking.get((f, s))) for f, one in enumerate(row, start=1)]
        for s, row in enumerate(semitones[:-1].T, start=1)
    ]
    legend = [
        Cell(f"{wide:g} or more", "clear"),
        Cell("less", "undecided"),
        Cell(f"{MARKS['undecided']} clear straight, may choke bent", "undecided"),
        Cell(f"{MARKS['buzzes']} clear straight, chokes bent", "buzzes"),
    ]
    when = "after the plan" if plan.feasible else "as it stands"
    title = f"How far each string may be bent, {when}, semitones"
    words = (
        f"To the nearest half semitone below, guard included, up to {WIDTHS[-1]:g}; the player "
        f"asks for {wide:g}. 0: none, for there is no room with the string straight. {_ON_TOP}"
    )
    return figure(title, words, cell_map(title, words, fret_names(len(cells[0])), cells, legend))


def _bend(semitones: float, wide: float, chokes: str | None) -> Cell:
    text = f"{semitones:g}"
    if chokes is not None:
        return Cell(text, chokes, corner=MARKS[chokes])
    return Cell(text, "clear" if semitones >= wide else "undecided")
