"""The report's figures of cells: fret heights, margins."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.neck.shape import Shape
from analysis.plan.clearances import Clearance
from analysis.plan.room import room_of
from daq.figures.boardmap import cell_map
from daq.figures.html import Html, tag
from daq.figures.layers import Layer, heights, room


def figure(title: str, words: str, first: Html, *more: Html) -> Html:
    """Pictures under what they show; on paper the words stay with the first."""
    caption = tag("figcaption", tag("b", f"{title}."), f" {words}")
    whole = tag("div", caption, tag("div", first, class_="wide"), class_="whole")
    return tag("figure", whole, *(tag("div", one, class_="wide") for one in more))


def layer_figure(layer: Layer) -> Html:
    """A map of the board that nobody points at."""
    drawn = cell_map(layer.title, layer.words, layer.names, layer.cells, layer.legend, layer.corner)
    return figure(layer.title, layer.words, drawn)


def heights_figure(shape: Shape) -> Html:
    """Fret height over the board in every cell."""
    return layer_figure(heights(shape))


def margins_figure(clearances: Sequence[Clearance], title: str) -> Html:
    """The worst of each string and fretted position, straight or bent, hundredths of a mm."""
    frets = 1 + max((c.fretted for c in clearances), default=0)
    strings = max((c.string for c in clearances), default=0)
    return layer_figure(room(room_of(clearances, frets, strings), title))
