"""Where the still strings of a true neck lie, open, fretted and bent, over the frets beyond."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from .trueneck import TrueNeck
from .wires import Array, bent, push_for

#: Shares of the whole bend at which a bent string is looked at: a bend passes through them all.
ON_THE_WAY = (0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class Lines:
    """mm: string over each fret, [strings, fretted, at], fretted 0 the open string; inf where the
    fret is not beyond. y_mm: where the string crosses it. start_y_mm: [strings, fretted], where
    it leaves its fret. share: [fretted, at], how far along. slack: [strings, fretted], tension as
    tuned over tension as bent. bend: its share of the widest, negative towards the bass."""

    mm: Array
    y_mm: Array
    start_y_mm: Array
    share: Array
    slack: Array
    bend: float


def all_lines(true: TrueNeck, playing: Mapping[str, Any]) -> Iterator[Lines]:
    """Straight, then on the way to the bend, either way; the open string is never bent.

    Strings of the outer thirds are bent inwards alone: outwards they would leave the board.
    """
    shape = (true.nut_mm.size, true.x_mm.size)
    yield _lines(true, np.zeros(shape), np.ones(shape), 0.0)
    semitones = playing["bend_semitones"]
    if not semitones > 0.0:
        return
    first, last = playing.get("bend_frets") or (1, shape[1])
    elsewhere = np.setdiff1d(np.arange(shape[1]), np.arange(first, last + 1))
    number = np.arange(1, shape[0] + 1)
    outwards = {-1.0: 3 * number > 2 * shape[0], 1.0: 3 * number <= shape[0]}
    wire = true.wires.of(np.arange(shape[0])[:, None])
    whole, at = np.array(true.scale_mm), true.x_mm[:-1]
    widest = push_for(wire, whole, at, semitones)
    for share, (side, out) in product(ON_THE_WAY, outwards.items()):
        push, slack = np.zeros(shape), np.ones(shape)
        push[:, 1:] = side * share * widest
        slack[:, 1:] = wire.tension / bent(wire, whole, at, share * widest)[0]
        found = _lines(true, push, slack, side * share)
        found.mm[out] = np.inf
        found.mm[:, elsewhere] = np.inf
        yield found


def _lines(true: TrueNeck, push_mm: Array, slack: Array, bend: float) -> Lines:
    """push_mm: [strings, fretted], aside at the fretted fret, in the sense of y."""
    strings, frets = slack.shape
    s, n = np.meshgrid(np.arange(strings), np.arange(frets), indexing="ij")
    start = np.concatenate([[0.0], true.x_mm[:-1]])
    share = (true.x_mm - start[:, None]) / (true.scale_mm - start[:, None])
    start_y = true.string_y_mm(start)[n, s] + push_mm
    end_y = true.string_y_mm(true.scale_mm)[s]
    y = start_y[:, :, None] + share * (end_y - start_y)[:, :, None]
    held = np.where(n > 0, true.top_mm(np.maximum(n - 1, 0), start_y), true.nut_mm[:, None])
    high = held[:, :, None] + share * (true.saddle_mm[:, None] - held)[:, :, None]
    at = np.broadcast_to(np.arange(frets), y.shape)
    over = np.where(at >= n[:, :, None], high - true.top_mm(at, y), np.inf)
    return Lines(over, y, start_y, share, slack, bend)
