"""Whether the strings of a true neck touch a fret they should not: statics and motion.

A string runs straight from where it leaves a fret (or its nut slot) to its saddle, and over each
fret beyond it comes down by what the closed form or the simulated motion says. The motion is
linear until it touches, so it is simulated once for each string, position and place, per newton.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np

from . import modal
from .trueneck import TrueNeck
from .wires import Array, Wires, bent, push_for

#: Shares of the whole bend at which a bent string is looked at: a bend passes through them all.
ON_THE_WAY = (0.25, 0.5, 0.75, 1.0)
#: How a string is let go: pulled away from the frets, or pushed towards them.
WAYS = ("pulled", "pushed")
#: Dips of strings pulled away and pushed towards the frets, [strings, fretted, at] each.
Both = tuple[Array, Array]


@dataclass(frozen=True)
class Least:
    """The least distance of a kind, mm (negative: it touches), and where: string, fretted (0: the
    open string), the fret beyond, how it was let go, the share of a bend (0: straight)."""

    mm: float
    string: int
    fretted: int
    at: int
    way: str
    bend: float


@dataclass(frozen=True)
class Verdict:
    """closed: the ideal string's envelope, pulled away from the frets alone. closed_pushed: pushed
    towards them. moving: the simulated stiff string, worse of both. Bends apart."""

    still: Least
    closed: Least
    closed_pushed: Least
    moving: Least
    bend_closed: Least | None
    bend_moving: Least | None


def closed_dips(length: Array, pluck: Array, at: Array) -> tuple[Array, Array]:
    """Of an ideal string pulled up and pushed down by 1 N under 1 N of tension, m.

    d'Alembert: pulled, its first shape turned about its middle; pushed, the first shape itself.
    length, pluck: [...]; at: [..., places], from the fretted end.
    """
    corner = (pluck * (length - pluck) / length)[..., None]
    length, pluck = length[..., None], pluck[..., None]
    down = corner * np.minimum(at / pluck, (length - at) / (length - pluck))
    up = corner * np.minimum(at / (length - pluck), (length - at) / pluck)
    return up, down


def judge(true: TrueNeck, playing: Mapping[str, Any]) -> Verdict:
    """Every string, open and in every fretted position, over every fret beyond."""
    straight = _line(true, np.zeros_like(_pairs(true)[0], dtype=float))
    force, from_saddle = playing["pluck_force_n"], 1e-3 * playing["pluck_from_saddle_mm"]
    moving = _moving(true, from_saddle)
    ideal = _ideal(true, from_saddle)

    def least(dips: Both) -> list[Least]:
        each = zip(dips, WAYS, strict=True)
        return [_least(straight - 1e3 * force * dip, way, 0.0) for dip, way in each]

    pull, push = least(ideal)
    bends = list(_bends(true, playing, ideal, moving))
    return Verdict(
        _least(straight, "", 0.0),
        pull,
        push,
        min(least(moving), key=_mm),
        min((b[0] for b in bends), key=_mm, default=None),
        min((b[1] for b in bends), key=_mm, default=None),
    )


def _mm(least: Least) -> float:
    return least.mm


def _pairs(true: TrueNeck) -> tuple[Array, Array]:
    """([strings, fretted], [strings, fretted]): string and fretted position, 0 the open one."""
    strings, frets = true.nut_mm.size, true.x_mm.size
    s, n = np.meshgrid(np.arange(strings), np.arange(frets), indexing="ij")
    return s, n


def _starts(true: TrueNeck) -> Array:
    """Where the string leaves: [fretted], mm from the nut."""
    return np.concatenate([[0.0], true.x_mm[:-1]])


def _line(true: TrueNeck, push_mm: Array) -> Array:
    """Still string over each fret, mm, [strings, fretted, at]; inf where the fret is not beyond.

    push_mm: [strings, fretted], aside at the fretted fret, towards the middle of the board.
    """
    s, n = _pairs(true)
    start = _starts(true)
    share = (true.x_mm - start[:, None]) / (true.scale_mm - start[:, None])
    home_y = true.string_y_mm(start)[n, s]
    start_y = home_y + push_mm * np.where(s < true.nut_mm.size / 2, -1.0, 1.0)
    end_y = true.string_y_mm(true.scale_mm)[s]
    y = start_y[:, :, None] + share * (end_y - start_y)[:, :, None]
    held = np.where(n > 0, true.top_mm(np.maximum(n - 1, 0), start_y), true.nut_mm[:, None])
    high = held[:, :, None] + share * (true.saddle_mm[:, None] - held)[:, :, None]
    beyond = np.arange(true.x_mm.size) >= np.arange(start.size)[:, None]
    frets = np.broadcast_to(np.arange(true.x_mm.size), y.shape)
    return np.where(beyond, high - true.top_mm(frets, y), np.inf)


def _least(distance: Array, way: str, bend: float) -> Least:
    s, n, m = (int(i) for i in np.unravel_index(np.argmin(distance), distance.shape))
    return Least(float(distance[s, n, m]), s + 1, n, m + 1, way, bend)


def _ideal(true: TrueNeck, from_saddle: float) -> tuple[Array, Array]:
    """Dips per newton, m, [strings, fretted, at], each string at its true tension."""
    length, pluck, at = _laid(true.x_mm, true.scale_mm, from_saddle)
    pull, push = closed_dips(length, pluck, at)
    tension = true.wires.tension[:, None, None]
    return pull / tension, push / tension


def _laid(x_mm: Array, scale_mm: float, from_saddle: float) -> tuple[Array, Array, Array]:
    """Speaking lengths, pluck points, places from the fretted end, m; [fretted(, at)]."""
    start = np.concatenate([[0.0], x_mm[:-1]])
    length = 1e-3 * (scale_mm - start)
    pluck = np.where(length > from_saddle, length - from_saddle, 0.5 * length)
    return length, pluck, np.clip(1e-3 * (x_mm - start[:, None]), 0.0, None)


def _moving(true: TrueNeck, from_saddle: float) -> tuple[Array, Array]:
    """As `_ideal`, of the moving stiff string."""
    wire = true.wires
    known = tuple(tuple(getattr(wire, f.name).tolist()) for f in fields(wire))
    return _simulated(known, tuple(true.x_mm.tolist()), true.scale_mm, from_saddle)


@lru_cache(maxsize=8)
def _simulated(
    known: tuple[tuple[float, ...], ...],
    x_mm: tuple[float, ...],
    scale_mm: float,
    from_saddle: float,
) -> tuple[Array, Array]:
    wire = Wires(*(np.array(one) for one in known))
    length, pluck, at = _laid(np.array(x_mm), scale_mm, from_saddle)
    strings = np.repeat(np.arange(wire.mass.size), length.size)
    each = [np.concatenate([one] * wire.mass.size) for one in (length, pluck, at)]
    shape = (wire.mass.size, length.size, at.shape[1])
    pull, push = modal.dips(wire.of(strings), *each)
    return pull.reshape(shape), push.reshape(shape)


def _bends(
    true: TrueNeck, playing: Mapping[str, Any], ideal: Both, moving: Both
) -> Iterator[tuple[Least, Least]]:
    """(closed, moving) at each share of the bend, pulled for the closed form, both for motion.

    Dips are taken over from the straight string and shrink as tension grows: a tauter string is
    no stiffer for that. The open string is not bent.
    """
    if not playing["bend_semitones"] > 0.0:
        return
    force = 1e3 * playing["pluck_force_n"]
    at = _starts(true)[1:]
    wire = true.wires.of(np.arange(true.nut_mm.size)[:, None])
    whole = np.array(true.scale_mm)
    for share in ON_THE_WAY:
        push = share * push_for(wire, whole, at, playing["bend_semitones"])
        slack = wire.tension / bent(wire, whole, at, push)[0]
        line = _line(true, np.pad(push, ((0, 0), (1, 0))))[:, 1:]
        closed, *moved = (
            _least_bent(line - force * d[:, 1:] * slack[:, :, None], way, share)
            for d, way in zip((ideal[0], *moving), (WAYS[0], *WAYS), strict=True)
        )
        yield closed, min(moved, key=_mm)


def _least_bent(distance: Array, way: str, share: float) -> Least:
    found = _least(distance, way, share)
    return replace(found, fretted=found.fretted + 1)
