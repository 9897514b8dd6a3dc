"""The instrument as strung: tops at every lane, nut, saddles; the base that a plan changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray, Instrument
from analysis.neck.shape import Shape


@dataclass(frozen=True, slots=True)
class Setup:
    """Nodes are the strings and the places midway between them: [frets, 2 strings - 1].

    node_x_mm, node_y_mm, node_z_mm, u_node_mm: fret tops at the nodes. curvature: [frets],
    1/mm, of the board across. nut_mm, saddle_mm: string heights at x = 0 and at saddle_x_mm,
    in the tops' frame. u_nut_mm, u_saddle_mm: their standard uncertainties.
    """

    instrument: Instrument
    node_x_mm: FloatArray
    node_y_mm: FloatArray
    node_z_mm: FloatArray
    u_node_mm: FloatArray
    curvature: FloatArray
    nut_x_mm: FloatArray
    nut_mm: FloatArray
    u_nut_mm: FloatArray
    saddle_x_mm: FloatArray
    saddle_mm: FloatArray
    u_saddle_mm: FloatArray

    @property
    def frets(self) -> int:
        return self.instrument.frets

    @property
    def strings(self) -> int:
        return len(self.instrument.strings)

    @property
    def share_at_twelve(self) -> FloatArray:
        """[strings]: how far along the open string, nut to saddle, fret 12 lies."""
        reach = self.saddle_x_mm - self.nut_x_mm
        return np.asarray((self.x_mm[11] - self.nut_x_mm) / reach)

    @property
    def x_mm(self) -> FloatArray:
        """[frets, strings], under the strings."""
        return self.node_x_mm[:, ::2]

    @property
    def top_mm(self) -> FloatArray:
        return self.node_z_mm[:, ::2]

    @property
    def u_top_mm(self) -> FloatArray:
        return self.u_node_mm[:, ::2]


def setup_from(shape: Shape, instrument: Instrument) -> Setup:
    """Nut and saddle heights from the string heights measured by hand over frets 1 and 12.

    The open string is straight (its sag is micrometres): the line through top 1 + nut gap and
    top 12 + action gives both ends. A top there that nobody saw is taken from the frets beside
    it on the same string.
    """
    strings = instrument.string_numbers
    nut_x = instrument.fret_x_mm(0.0, strings)
    saddle_x = instrument.saddle_x_mm(strings)
    first, twelfth = shape.x_mm[0], shape.x_mm[11]
    tops = bridged(shape.x_mm, shape.top_mm)
    z1 = tops[0] + np.asarray(instrument.nut_gap_mm)
    z12 = tops[11] + np.asarray(instrument.action_mm)
    slope = (z12 - z1) / (twelfth - first)
    nodes = np.arange(1.0, len(instrument.strings) + 0.25, 0.5)
    frets = np.arange(1.0, instrument.frets + 1)
    node_x = instrument.fret_x_mm(frets[:, None], nodes[None, :])
    nut_radius, last_radius = shape.board_radius_mm
    middle_x = np.mean(node_x, axis=1)
    curvature = 1.0 / (nut_radius + middle_x / middle_x[-1] * (last_radius - nut_radius))
    return Setup(
        instrument,
        node_x,
        instrument.string_y_mm(nodes[None, :], node_x),
        _interleave(shape.top_mm, shape.between_mm),
        _interleave(shape.u_top_mm, shape.u_between_mm),
        curvature,
        nut_x,
        z1 + slope * (nut_x - first),
        np.full(strings.size, instrument.u_action_mm),
        saddle_x,
        z12 + slope * (saddle_x - twelfth),
        np.full(strings.size, 2.0 * instrument.u_action_mm),
    )


def bridged(x_mm: FloatArray, top_mm: FloatArray) -> FloatArray:
    """Tops with the unseen ones put in straight between their neighbours in each column."""
    out = top_mm.copy()
    for s in range(out.shape[1]):
        seen = np.isfinite(out[:, s])
        if seen.any():
            out[:, s] = np.interp(x_mm[:, s], x_mm[seen, s], out[seen, s])
    return out


def at_nodes(under: FloatArray) -> FloatArray:
    """What is known under the strings, [frets, strings], at every node: midway the mean."""
    return _interleave(under, 0.5 * (under[:, :-1] + under[:, 1:]))


def _interleave(under: FloatArray, between: FloatArray) -> FloatArray:
    out = np.empty((under.shape[0], under.shape[1] + between.shape[1]))
    out[:, ::2] = under
    out[:, 1::2] = between
    return out
