"""Clearance of every string, every fretted position, over every fret beyond: linear rows."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from analysis.instrument import FloatArray
from analysis.plan.crossings import Part, bent_parts, straight_part
from analysis.plan.setup import Setup
from analysis.strings.envelope import envelope_mm, pluck_height_mm
from analysis.strings.playing import PlayingProfile
from analysis.strings.strings import StringLoad
from analysis.strings.swings import deepest_per_newton

IntArray = NDArray[np.int_]
#: Standard uncertainty of a tension worked out from a string's gauge, as a share: diameters hold
#: to 1 %, mass to 2 %, evenly spread (common practice, no source). A swing goes with 1 / tension.
U_TENSION = 0.012

#: So many strings' swings are kept; each takes some kilobytes.
MOST_KEPT = 256
#: A need that no place has, mm.
_NO_NEED_MM = -1e3


@dataclass(frozen=True, slots=True)
class Margins:
    """One row a margin: clearance = nodes @ z + nut @ nut height + saddle @ saddle height + fixed.

    string, fretted, at: int[rows]; fretted 0 is the open string. bend: bool[rows], the string
    pushed aside. tension_n; length_mm: from the fretted place to the saddle; along_mm: from there
    to `at`. needed_mm: what the swing of a string without stiffness needs, pulled away from the
    frets. more_mm: how much deeper a real one comes, plucked either way. u_mm: standard
    uncertainty of clearance less need, u_line_mm of the clearance alone. deepest_mm_per_n: swing
    of a real string plucked with 1 N at from_saddle_mm. nodes, nut, saddle: sparse [rows, ...].
    cuts: sparse [rows, frets * strings], what a clearance gains by each cut.
    """

    string: IntArray
    fretted: IntArray
    at: IntArray
    bend: NDArray[np.bool_]
    tension_n: FloatArray
    length_mm: FloatArray
    along_mm: FloatArray
    needed_mm: FloatArray
    more_mm: FloatArray
    u_mm: FloatArray
    u_line_mm: FloatArray
    deepest_mm_per_n: FloatArray
    from_saddle_mm: float
    fixed_mm: FloatArray
    u_unseen_mm: FloatArray
    nodes: sparse.csr_array
    cuts: sparse.csr_array
    nut: sparse.csr_array
    saddle: sparse.csr_array

    def known(self) -> Margins:
        """Without the margins that hang on a top nobody saw."""
        rows = np.isfinite(self.u_mm)
        kept = {
            f.name: getattr(self, f.name)[rows] for f in fields(self) if f.name != "from_saddle_mm"
        }
        return replace(self, **kept)

    @property
    def swing_mm(self) -> FloatArray:
        """All that the string needs, [rows]."""
        return self.needed_mm + self.more_mm

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
        """The same places with what another way of playing needs; bends as wide as before.

        A swing grows with the pluck; only another pluck point asks for the strings' motion anew.
        """
        force, pluck = playing.pluck_force_n, playing.pluck_from_saddle_mm
        deepest = self.deepest_mm_per_n
        if pluck != self.from_saddle_mm:
            deepest = _deepest_mm_per_n(self, loads, pluck)
        height = pluck_height_mm(force, self.tension_n, self.length_mm, pluck)
        needed = envelope_mm(height, self.along_mm, self.length_mm, pluck)
        more = np.clip(force * deepest - needed, 0.0, None)
        return replace(
            self,
            needed_mm=needed,
            more_mm=more,
            u_mm=np.hypot(self.u_line_mm, U_TENSION * (needed + more)),
            deepest_mm_per_n=deepest,
            from_saddle_mm=pluck,
        )

    def asking(self, asked: NDArray[np.bool_]) -> Margins:
        """As if only these rows needed room. asked: bool[rows]."""
        return replace(self, needed_mm=np.where(asked, self.needed_mm, _NO_NEED_MM))

    def known_to(self, setup: Setup) -> Margins:
        """The same places and needs with other uncertainties of tops, nut and saddles."""
        variance = (self.nodes**2) @ (setup.u_node_mm.ravel() ** 2) + self.u_unseen_mm**2
        variance += (self.saddle**2) @ (setup.u_saddle_mm**2)
        variance += (self.nut**2) @ (setup.u_nut_mm**2)
        line = np.sqrt(variance)
        return replace(self, u_line_mm=line, u_mm=np.hypot(line, U_TENSION * self.swing_mm))


def margins(setup: Setup, loads: tuple[StringLoad, ...], playing: PlayingProfile) -> Margins:
    """All margins of all strings: open, fretted, and bent where the profile bends."""
    parts = [straight_part(setup, load, s) for s, load in enumerate(loads)]
    if playing.bend_semitones > 0:
        for s, load in enumerate(loads):
            parts += bent_parts(setup, load, playing, s)
    return _stack(parts, setup).played(loads, playing).known_to(setup)


def _stack(parts: list[Part], setup: Setup) -> Margins:
    """All rows, those of one place together."""

    def joined(name: str) -> np.ndarray:
        return np.concatenate([getattr(p, name) for p in parts])

    sizes = [p.fretted.size for p in parts]
    total = sum(sizes)
    string, bend = (
        np.repeat([getattr(p, name) for p in parts], sizes) for name in ("string", "bend")
    )
    order = np.lexsort((joined("at"), joined("fretted"), string, bend))
    rank = np.argsort(order)
    offset = np.cumsum([0, *sizes[:-1]])

    def matrix(name: str) -> sparse.csr_array:
        entries = [getattr(p, name) for p in parts]
        row = np.concatenate([e[0] + o for e, o in zip(entries, offset, strict=True)])
        node, weight = (np.concatenate([e[i] for e in entries]) for i in (1, 2))
        return sparse.csr_array((weight, (rank[row], node)), shape=(total, setup.node_z_mm.size))

    under = np.arange(setup.node_z_mm.size).reshape(setup.frets, -1)[:, ::2].ravel()
    at = (np.arange(total), string[order])
    shape = (total, setup.strings)
    unknown = np.full(total, np.nan)
    return Margins(
        string[order] + 1,
        joined("fretted")[order],
        joined("at")[order],
        bend[order],
        joined("tension_n")[order],
        joined("length_mm")[order],
        joined("along_mm")[order],
        unknown,
        unknown,
        unknown,
        unknown,
        unknown,
        np.nan,
        joined("fixed_mm")[order],
        joined("u_unseen_mm")[order],
        matrix("entries"),
        -matrix("cuts")[:, under],
        sparse.csr_array((joined("nut")[order], at), shape=shape),
        sparse.csr_array((joined("saddle")[order], at), shape=shape),
    )


def _deepest_mm_per_n(
    rows: Margins, loads: tuple[StringLoad, ...], from_saddle_mm: float
) -> FloatArray:
    """Of every row. A bent string swings less by its tension's share, and a little less stiffly:
    how wide it is bent changes nothing else of it, so the straight strings' swings are kept."""
    out = np.empty(rows.string.size)
    for s, load in enumerate(loads):
        mine = np.flatnonzero(rows.string == s + 1)
        fretted, at = rows.fretted[mine], rows.at[mine]
        length = np.full(int(fretted.max(initial=0)) + 1, np.nan)
        length[fretted] = rows.length_mm[mine]
        places = np.zeros((length.size, int(at.max(initial=0)) + 1))
        places[fretted, at] = rows.along_mm[mine]
        deepest = _deepest(load, length.tobytes(), places.tobytes(), from_saddle_mm)
        out[mine] = deepest[fretted, at] * load.tension_n / rows.tension_n[mine]
    return out


@lru_cache(maxsize=MOST_KEPT)
def _deepest(load: StringLoad, lengths: bytes, places: bytes, from_saddle_mm: float) -> FloatArray:
    """`deepest_per_newton` of arrays given by their bytes, read only."""
    length_mm = np.frombuffer(lengths)
    place_mm = np.frombuffer(places).reshape(length_mm.size, -1)
    deepest = deepest_per_newton(load, length_mm, place_mm, from_saddle_mm)
    deepest.flags.writeable = False
    return deepest
