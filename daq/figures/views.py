"""The report's figures of the neck as it is: from above, along its strings, its wear, across."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from analysis.board.arc import Arc
from analysis.form.across import Across
from analysis.form.along import Along
from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape
from analysis.wear.wear import Wear
from daq.figures.cells import figure, layer_figure
from daq.figures.chord import off_chord_um, off_neighbours_um
from daq.figures.curves import curves_of, reach_of
from daq.figures.html import Html
from daq.figures.planmap import plan_map
from daq.figures.profiles import profile
from daq.figures.radiuschart import radius_chart
from daq.figures.turnchart import turn_chart
from daq.figures.wearmap import wear_layer


def plan_figure(shapes: Sequence[Shape], it: Instrument) -> Html:
    """Tops off their strings' chords over the neck, each state to the same scale."""
    joint = it.body_joint_fret
    off = [off_chord_um(shape, joint) for shape in shapes]
    words = (
        "Each tile is a fret under a string, where it lies. Its colour and its triangle tell how "
        "far the top stands above (pointing up) or below (pointing down) the straight line from "
        f"fret 1 to fret {joint} under that string; a plain tile is on the line, a dashed one not "
        "known. Across is drawn larger than along."
    )
    maps = [
        plan_map(f"Off the chord, {shape.state}", words, "the chord", values, it, _most(off))
        for shape, values in zip(shapes, off, strict=True)
    ]
    return figure("Fret tops seen from above, off each string's chord", words, *maps)


def rocker_figure(shape: Shape, it: Instrument) -> Html:
    """Tops off their neighbours: the short unevenness that relief hides."""
    off = off_neighbours_um(shape)
    words = (
        "The same view, each top over the straight line through the frets before and behind it: "
        "what a fret rocker feels. A single high fret shows as one up between two down."
    )
    drawn = plan_map(
        f"Off the neighbours, {shape.state}", words, "the neighbours", off, it, _most([off])
    )
    return figure("High and low frets among their neighbours", words, drawn)


def _most(values: Sequence[FloatArray]) -> float:
    known = np.concatenate([one[np.isfinite(one)] for one in values])
    return float(np.max(np.abs(known))) if known.size else 0.0


def profiles_figure(
    shapes: Sequence[Shape], along: Mapping[str, Sequence[Along]], joint: int
) -> Html:
    """One panel a string: tops off their own chord, with bars of twice the uncertainty."""
    curves = curves_of(shapes, along, joint)
    reach = reach_of(curves)
    words = (
        f"Zero is the chord from fret 1 to fret {joint}, dotted where it is carried on over the "
        "body (shaded). Filled dots, solid: strung. Open dots, dashed: unstrung. Bars: twice the "
        "standard uncertainty. A solid triangle marks what stands out of the smooth line."
    )
    panels = [profile(s, row, reach, joint) for s, row in enumerate(curves, start=1)]
    return figure("Along each string, strung over unstrung", words, *panels)


def wear_figure(wear: Wear) -> Html:
    """Dents, flats and what they ask for."""
    return layer_figure(wear_layer(wear))


def across_figure(
    shapes: Sequence[Shape], across: Across | None, arcs: Mapping[str, Arc], it: Instrument
) -> Html:
    """Radius of each fret and the turn of the section, as far as they are known."""
    drawings = []
    if across is not None and np.isfinite(across.radius_mm).any():
        drawings.append(radius_chart(across, it))
    if arcs:
        drawings.append(turn_chart(shapes, arcs, it))
    if not drawings:
        return Html("")
    words = (
        "Dots: the circle through each fret's tops; line: the board's; dotted: the file's. The "
        "turn is that of the board's section since the nut; up, the treble side (string 1) "
        "stands higher. An arrow head at the top: flatter than the drawing reaches. Bars and "
        "bands: twice the standard uncertainty; the bands without what the rail's own twist adds, "
        "which is in the numbers."
    )
    return figure("Across the neck", words, *drawings)
