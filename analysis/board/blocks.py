"""The readings of every gap between frets, averaged in blocks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from calibration.profile import Profile

#: Nearer to a fret than this the board is not read: solder, glue, and a small ball's touch.
FOOT_MM = 3.0
#: Half a wide fret's width and a tall fret's height: how far off a large ball touches it.
HALF_WIDTH_MM, TALLEST_MM = 1.5, 1.2
#: Blocks in a gap: a speck of dirt spoils one or two, an inlay has edges between them.
BLOCKS = 20
#: A gap with fewer readings, or fewer blocks that have any, is not read.
FEWEST_READINGS, FEWEST_BLOCKS = 8, 6


@dataclass(frozen=True, slots=True)
class Blocks:
    """middle_mm, half_mm: [passes, frets], the gap before each fret, along the carriage.

    t_mm, z_mm, count: [passes, frets, BLOCKS]: mean place (from the gap's middle) and height of
    each block's readings, 0 where it has none, and how many they are. A gap with too few has
    none at all.
    """

    middle_mm: FloatArray
    half_mm: FloatArray
    t_mm: FloatArray
    z_mm: FloatArray
    count: FloatArray


def gap_middles_mm(fret_x_mm: FloatArray) -> FloatArray:
    """Middles of the gaps before fret 1 and between the frets (none after the last).

    fret_x_mm: [frets] or [frets, lanes] of equal temperament, and so is what comes back.
    """
    return np.asarray(0.5 * (np.concatenate([nut_x_mm(fret_x_mm), fret_x_mm[:-1]]) + fret_x_mm))


def nut_x_mm(fret_x_mm: FloatArray) -> FloatArray:
    """[1] or [1, lanes]: where fret 0 of the pattern is. Each gap is 2^(1/12) of the next."""
    return np.asarray(fret_x_mm[:1] - 2.0 ** (1.0 / 12.0) * (fret_x_mm[1:2] - fret_x_mm[:1]))


def gap_blocks(profiles: Sequence[Profile], fret_mm: FloatArray, ball_mm: float) -> Blocks:
    """Readings between the feet of neighbouring frets. fret_mm: [passes, frets]."""
    foot = max(FOOT_MM, _touches_mm(ball_mm))
    frets = np.concatenate([nut_x_mm(fret_mm.T).T, fret_mm], axis=1)
    middle = 0.5 * (frets[:, :-1] + frets[:, 1:])
    half = np.maximum(0.5 * np.diff(frets, axis=1) - foot, 0.0)
    edges = middle[:, :, None] + half[:, :, None] * np.linspace(-1.0, 1.0, BLOCKS + 1)
    count, x, z = np.stack([_sums(p, e) for p, e in zip(profiles, edges, strict=True)], axis=1)
    filled = np.count_nonzero(count > 0, axis=2)
    enough = (count.sum(axis=2) >= FEWEST_READINGS) & (filled >= FEWEST_BLOCKS)
    count = np.where(enough[:, :, None], count, 0.0)
    share = np.where(count > 0, 1.0 / np.maximum(count, 1.0), 0.0)
    t = np.where(count > 0, x * share - middle[:, :, None], 0.0)
    return Blocks(middle, half, t, z * share, count)


def _sums(profile: Profile, edges: FloatArray) -> FloatArray:
    """[3, frets, BLOCKS]: how many good readings lie between the edges, sums of their x and z."""
    at = np.searchsorted(profile.x_mm, edges)
    columns = np.zeros((3, profile.x_mm.size + 1))
    columns[0, :-1] = profile.ok
    columns[1, :-1] = np.where(profile.ok, profile.x_mm, 0.0)
    columns[2, :-1] = np.where(profile.ok, profile.z_mm, 0.0)
    sums = np.add.reduceat(columns, at.ravel(), axis=1).reshape(3, *at.shape)[:, :, :-1]
    # where two edges have nothing between them, reduceat gives the reading after them
    return np.where(np.diff(at, axis=1) > 0, sums, 0.0)


def _touches_mm(ball_mm: float) -> float:
    """How far from a fret's middle a ball on the board still touches the fret's side: beside a
    wall of height h a ball of radius r stands sqrt(h (2 r - h)) off, and r where h is over r."""
    height = min(TALLEST_MM, ball_mm)
    return HALF_WIDTH_MM + float(np.sqrt(height * (2.0 * ball_mm - height)))
