"""The whole board from above, one layer at a time: what is known and asked of every fret."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final, Literal, get_args

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.plan.room import Room
from analysis.plan.target import Held
from analysis.wear.wear import Wear
from daq.figures.boardmap import Cell
from daq.figures.layers import Layer, cuts, fret_names, heights, room
from daq.figures.livemap import live_map
from daq.figures.picture import Picture
from daq.figures.wearmap import wear_layer
from daq.reading.doubts import Doubts
from daq.text.cuts import written_um

LayerName = Literal["height", "wear", "cut", "room"]
LAYERS: Final[tuple[LayerName, ...]] = get_args(LayerName)


@dataclass(frozen=True, slots=True)
class MapView:
    """remove_mm: [frets, strings]. wear, room: None where there is none to show. string: the
    chosen one. fretted: where it is shown held, 0 for open."""

    instrument: Instrument
    shape: Shape
    wear: Wear | None
    remove_mm: FloatArray
    room: Room | None
    held: Held
    string: int
    doubts: Doubts = field(default_factory=Doubts)
    fretted: int | None = None


def neck_map(layer: LayerName, view: MapView) -> Picture:
    """A map whose cells the page can point at, focus and choose."""
    found = _marked(_layer(layer, view), view) if layer != "room" else _layer(layer, view)
    return Picture(found.title, found.words, live_map(found, view.string, view.fretted))


def _layer(layer: LayerName, view: MapView) -> Layer:
    frets, strings = view.remove_mm.shape
    if layer == "height":
        return heights(view.shape, told=True)
    if layer == "cut":
        return cuts(written_um(view.remove_mm), view.doubts, told=True)
    if layer == "wear" and view.wear is not None:
        return wear_layer(view.wear, told=True)
    if layer == "room" and view.room is not None:
        return room(view.room, "Room, 0.01 mm", told=True)
    nothing = [[Cell("", "none", "not known") for _ in range(frets)] for _ in range(strings)]
    return Layer(f"No {layer} is known", "", fret_names(frets), nothing, [])


def _marked(layer: Layer, view: MapView) -> Layer:
    """Held back from cutting: hatched."""
    if not view.held:
        return layer
    held = view.held.where(*view.remove_mm.shape).T.tolist()
    cells = [
        [replace(cell, held=True) if back else cell for cell, back in zip(*row, strict=True)]
        for row in zip(layer.cells, held, strict=True)
    ]
    legend = [*layer.legend, Cell("held back: not to be cut", "none", held=True)]
    return replace(layer, cells=cells, legend=legend)
