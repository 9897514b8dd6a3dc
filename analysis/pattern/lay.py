"""The bumps of a scan beside the pattern they are laid over."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray, Instrument
from analysis.pattern.bumps import Bumps
from analysis.pattern.registration import share_across, square_x_mm, stray_mm, wider_share

#: How many frets more than the file's a neck may have.
MORE_FRETS = 12


@dataclass(frozen=True, slots=True)
class Lay:
    """Bumps, and for each pass the frets of the string it lies under: [passes, frets].

    string: under the lane at each fret; the same all along a lane laid by the file. pattern_mm,
    y_mm: x and y of the frets by the file. wider, stray_mm: `wider_share` and `stray_mm`.
    across: -1/2 under string 1 to 1/2 under the last. backwards: the bumps are mirrored, as if
    the neck lay the other way round.
    """

    instrument: Instrument
    bumps: Bumps
    string: FloatArray
    pattern_mm: FloatArray
    y_mm: FloatArray
    wider: FloatArray
    stray_mm: FloatArray
    across: FloatArray
    square_mm: float
    backwards: bool = False
    beyond: Lay | None = None

    @property
    def wide(self) -> Lay:
        """The same with frets from 0, a zero fret, to MORE_FRETS past the last."""
        return self if self.beyond is None else self.beyond

    @property
    def frets(self) -> int:
        return int(self.pattern_mm.shape[1])

    @property
    def lanes_apart_mm(self) -> float:
        """How far the outermost lanes lie from one another across."""
        return float(np.ptp(self.y_mm[:, 0]))

    def lever_mm(self, fan: float) -> FloatArray:
        """What a turn of the neck shifts the frets by (`lever_mm`), [passes, frets]."""
        return self.y_mm - (self.wider + fan) * self.stray_mm

    def string_at(self, of: NDArray[np.intp], neck_x_mm: FloatArray) -> FloatArray:
        """The string under pass `of` at places on the neck, both [n]."""
        x, string = self.pattern_mm[of][:, [0, -1]], self.string[of][:, [0, -1]]
        share = (neck_x_mm - x[:, 0]) / (x[:, 1] - x[:, 0])
        return np.asarray(string[:, 0] + share * (string[:, 1] - string[:, 0]))


def lay_out(instrument: Instrument, bumps: Bumps, string: FloatArray) -> Lay:
    """The pattern of the instrument's file under each pass. string: [passes] or, where lanes do
    not follow the strings, [passes, frets]."""
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    under = np.broadcast_to(string.reshape(bumps.passes, -1), (bumps.passes, frets.size))
    lay = _over(instrument, bumps, under, frets)
    more = np.arange(instrument.frets + MORE_FRETS + 1, dtype=float)
    rows = np.repeat(np.arange(bumps.passes), more.size)
    x = instrument.fret_x_mm(more, under[:, :1])
    wide = lay.string_at(rows, x.ravel()).reshape(x.shape)
    return replace(lay, beyond=_over(instrument, bumps, wide, more))


def _over(
    instrument: Instrument,
    bumps: Bumps,
    under: FloatArray,
    frets: FloatArray,
) -> Lay:
    pattern = instrument.fret_x_mm(frets, under)
    return Lay(
        instrument,
        bumps,
        under,
        pattern,
        instrument.string_y_mm(under, pattern),
        wider_share(instrument, under),
        stray_mm(instrument, under, pattern),
        share_across(instrument, under),
        square_x_mm(instrument),
    )


def mirrored(bumps: Bumps) -> Bumps:
    """As if the rig were looked at from its other end: x and y run the other way."""
    order = np.lexsort((-bumps.x_mm, bumps.of))
    return Bumps(
        bumps.of[order],
        -bumps.x_mm[order],
        -bumps.y_mm[order],
        bumps.top_mm[order],
        -bumps.went_mm[:, ::-1],
    )


def turned(lay: Lay, bumps: Bumps, nut_mm: float) -> Lay:
    """The neck lying the other way round with its nut about nut_mm. bumps: mirrored.

    Lanes were laid by the file for a neck the right way round: they cross this one's strings.
    """
    instrument = lay.instrument
    count = len(instrument.strings)
    other = lay_out(instrument, bumps, count + 1.0 - lay.string)
    if instrument.scale_bass_mm == instrument.scale_treble_mm:
        return replace(other, backwards=True)
    y = np.empty_like(other.pattern_mm)
    for row in range(bumps.passes):
        mine = bumps.of == row
        if np.count_nonzero(mine) < 2 or not np.isfinite(bumps.y_mm[mine]).all():
            y[row] = other.y_mm[row]
            continue
        line = np.polyfit(bumps.x_mm[mine], bumps.y_mm[mine], 1)
        y[row] = np.polyval(line, nut_mm + other.pattern_mm[row])
    apart = instrument.string_y_mm(1.0, other.pattern_mm) - instrument.string_y_mm(
        2.0, other.pattern_mm
    )
    under = 0.5 * (count + 1) - y / apart
    return replace(lay_out(instrument, bumps, under), backwards=True)
