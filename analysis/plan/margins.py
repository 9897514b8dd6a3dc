"""Clearance of every string, every fretted position, over every fret beyond: linear rows."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.crossings import Part, bent_part, straight_part
from analysis.plan.setup import Setup
from analysis.strings.envelope import envelope_mm, pluck_height_mm
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad, bent_tension_n

IntArray = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Margins:
    """One row a margin: clearance = nodes @ z + nut @ nut height + saddle @ saddle height + fixed.

    string, fretted, at: int[rows]; fretted 0 is the open string. bend: bool[rows], the string
    pushed aside. length_mm: from the fretted place to the saddle; along_mm: from there to `at`.
    needed_mm: what the string's swing needs. u_mm: standard uncertainty of the clearance. nodes,
    nut, saddle: sparse [rows, ...].
    """

    string: IntArray
    fretted: IntArray
    at: IntArray
    bend: NDArray[np.bool_]
    length_mm: FloatArray
    along_mm: FloatArray
    needed_mm: FloatArray
    u_mm: FloatArray
    fixed_mm: FloatArray
    nodes: sparse.csr_array
    nut: sparse.csr_array
    saddle: sparse.csr_array

    def known(self) -> Margins:
        """Without the margins that hang on a top nobody saw."""
        rows = np.isfinite(self.u_mm)
        return Margins(*(getattr(self, f.name)[rows] for f in fields(self)))

    @property
    def first(self) -> IntArray:
        """First row of each place; the rows of one string, position and bend lie together."""
        key = np.column_stack([self.string, self.fretted, self.bend])
        return np.flatnonzero(np.concatenate([[True], np.any(np.diff(key, axis=0) != 0, axis=1)]))

    def clearance_mm(
        self, node_z_mm: FloatArray, nut_mm: FloatArray, saddle_mm: FloatArray
    ) -> FloatArray:
        return np.asarray(
            self.nodes @ node_z_mm.ravel()
            + self.nut @ nut_mm
            + self.saddle @ saddle_mm
            + self.fixed_mm
        )

    def played(self, loads: tuple[StringLoad, ...], playing: PlayingProfile) -> Margins:
        """The same places with what another way of playing needs; bends as wide as before."""
        return replace(self, needed_mm=_needed_mm(self, loads, playing))

    def known_to(self, setup: Setup) -> Margins:
        """The same places with other uncertainties of tops, nut and saddles."""
        variance = (self.nodes**2) @ (setup.u_node_mm.ravel() ** 2)
        variance += (self.saddle**2) @ (setup.u_saddle_mm**2)
        variance += (self.nut**2) @ (setup.u_nut_mm**2)
        return replace(self, u_mm=np.sqrt(variance))


def margins(setup: Setup, loads: tuple[StringLoad, ...], playing: PlayingProfile) -> Margins:
    """All margins of all strings: open, fretted, and bent where the profile bends."""
    parts = [straight_part(setup, s) for s in range(setup.strings)]
    if playing.bend_semitones > 0:
        parts += [
            bent_part(setup, loads[s], playing.bend_semitones, s) for s in range(setup.strings)
        ]
    return _stack(parts, setup).played(loads, playing).known_to(setup)


def _needed_mm(rows: Margins, loads: tuple[StringLoad, ...], playing: PlayingProfile) -> FloatArray:
    """The swing of each string in each position over each fret beyond (METHODS 15)."""
    straight = np.array([load.tension_n for load in loads])
    bent = np.array([bent_tension_n(load.tension_n, playing.bend_semitones) for load in loads])
    tension = np.where(rows.bend, bent[rows.string - 1], straight[rows.string - 1])
    pluck = playing.pluck_from_saddle_mm
    height = pluck_height_mm(playing.pluck_force_n, tension, rows.length_mm, pluck)
    return envelope_mm(height, rows.along_mm, rows.length_mm, pluck)


def _stack(parts: list[Part], setup: Setup) -> Margins:
    sizes = [p.fretted.size for p in parts]
    total = sum(sizes)
    offset = np.cumsum([0, *sizes[:-1]])
    string = np.repeat([p.string for p in parts], sizes)
    rows = np.arange(total)

    def joined(name: str) -> np.ndarray:
        return np.concatenate([getattr(p, name) for p in parts])

    row = np.concatenate([p.entries[0] + o for p, o in zip(parts, offset, strict=True)])
    node = np.concatenate([p.entries[1] for p in parts])
    weight = np.concatenate([p.entries[2] for p in parts])
    nodes = sparse.csr_array((weight, (row, node)), shape=(total, setup.node_z_mm.size))
    shape = (total, setup.strings)
    unknown = np.full(total, np.nan)
    return Margins(
        string + 1,
        joined("fretted"),
        joined("at"),
        np.repeat([p.bend for p in parts], sizes),
        joined("length_mm"),
        joined("along_mm"),
        unknown,
        unknown,
        joined("fixed_mm"),
        nodes,
        sparse.csr_array((joined("nut"), (rows, string)), shape=shape),
        sparse.csr_array((joined("saddle"), (rows, string)), shape=shape),
    )
