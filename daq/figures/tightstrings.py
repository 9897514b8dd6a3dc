"""The decision in pictures: each string where it has least room, now and after the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analysis.plan.plan import Plan
from analysis.plan.section import Section
from analysis.plan.tight import Tight, TightStrings
from daq.figures.axes import WIDTH
from daq.figures.cells import figure
from daq.figures.closeup import FOOT, HEAD, close_view, close_words, small_view
from daq.figures.html import Html
from daq.figures.sideview import side_view
from daq.figures.stringview import near
from daq.figures.svg import drawing
from daq.text.tight import held_words

#: Height of the field of a string drawn small.
_SMALL = 104.0
#: So many small ones stand side by side.
_BESIDE = 2
#: So many strings are drawn large.
_TOLD = 2


def tight_figure(strings: TightStrings, plan: Plan) -> Html:
    """The most telling strings large, from one end to the other and close by; the others small.

    Without a plan that serves, the neck is drawn as it is.
    """
    order = telling([one if plan.feasible else _as_it_is(one) for one in strings.each])
    if not order:
        return Html("")
    large = [order[0], *(one for one in order[1:_TOLD] if _tells(one))]
    small = sorted(order[len(large) :], key=lambda one: one.string)
    joint = strings.before.instrument.body_joint_fret
    drawings = []
    for one in large:
        # a bent string lies across the board, not over its own frets
        if not one.bend:
            drawings.append(side_view(_section(strings, one, plan), joint))
        drawings.append(close_view(one))
    drawings += [_rows(small)] if small else []
    return figure("Where each string has least room", close_words(order[0]), *drawings)


def _as_it_is(one: Tight) -> Tight:
    return replace(one, after_mm=one.now_mm, cut_mm=np.zeros_like(one.cut_mm))


def _section(strings: TightStrings, one: Tight, plan: Plan) -> Section:
    """The string from the side, held where it has least room."""
    before, s = strings.before, one.string - 1
    after = strings.after if plan.feasible else before
    cut = plan.remove_mm[:, s] if plan.feasible else np.zeros(before.frets)
    return Section(
        one.string,
        before.x_mm[:, s],
        before.top_mm[:, s],
        before.u_top_mm[:, s],
        after.top_mm[:, s],
        cut,
        None,
        None,
        float(before.nut_x_mm[s]),
        float(before.saddle_x_mm[s]),
        (float(before.nut_mm[s]), float(after.nut_mm[s])),
        (float(before.saddle_mm[s]), float(after.saddle_mm[s])),
        one,
    )


def telling(each: Sequence[Tight]) -> list[Tight]:
    """The string with least room first, then the one for which most metal comes off."""
    by_room = sorted(each, key=lambda one: -one.short_now_mm)
    return by_room[:1] + sorted(by_room[1:], key=lambda one: -float(one.cut_mm.sum()))


def _tells(one: Tight) -> bool:
    """It touches, or may, or loses metal."""
    return one.short_now_mm > 0.0 or bool((one.cut_mm > 0.0).any())


def _rows(small: Sequence[Tight]) -> Html:
    wide, tall = WIDTH / _BESIDE, HEAD + _SMALL + FOOT
    panels = []
    for place, one in enumerate(small):
        row, column = divmod(place, _BESIDE)
        left, top = column * wide, row * tall
        seen = near(one, _SMALL, left + 50.0, left + wide - 8.0, top + HEAD)
        panels.append(small_view(seen, held_words(one)))
    rows = -(-len(small) // _BESIDE)
    title = "The other strings, each where it has least room, mm over the lowest its swing comes"
    return drawing(title, close_words(small[0]), (WIDTH, rows * tall), *panels)
