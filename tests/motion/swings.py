"""How far the strings of a true neck come down over each fret beyond, for every position.

The motion is linear until a string touches, so it is simulated once, for one newton.
"""

from __future__ import annotations

from dataclasses import fields
from functools import lru_cache

import numpy as np

from . import modal
from .trueneck import TrueNeck
from .wires import Array, Wires

#: Dips of strings pulled away from and pushed towards the frets, [strings, fretted, at] each, m/N.
Both = tuple[Array, Array]


def closed_dips(length: Array, pluck: Array, at: Array) -> Both:
    """Of an ideal string pulled up and pushed down by 1 N under 1 N of tension, m.

    d'Alembert: pulled, its first shape turned about its middle; pushed, the first shape itself.
    length, pluck: [...]; at: [..., places], from the fretted end.
    """
    corner = (pluck * (length - pluck) / length)[..., None]
    length, pluck = length[..., None], pluck[..., None]
    turned = corner * np.minimum(at / (length - pluck), (length - at) / pluck)
    first = corner * np.minimum(at / pluck, (length - at) / (length - pluck))
    return turned, first


def ideal(true: TrueNeck, from_saddle_m: float) -> Both:
    """Without stiffness, each string at its true tension."""
    laid = _laid(true.x_mm, true.scale_mm, from_saddle_m)
    tension = true.wires.tension[:, None, None]
    turned, first = closed_dips(*laid)
    return turned / tension, first / tension


def moving(true: TrueNeck, from_saddle_m: float) -> Both:
    """Simulated, stiffness and all. A bent string's go with its slack: tauter is no stiffer."""
    wire = true.wires
    known = tuple(tuple(getattr(wire, f.name).tolist()) for f in fields(wire))
    return _simulated(known, tuple(true.x_mm.tolist()), true.scale_mm, from_saddle_m)


def _laid(x_mm: Array, scale_mm: float, from_saddle_m: float) -> tuple[Array, Array, Array]:
    """Speaking lengths, pluck points, places from the fretted end, m; [fretted(, at)].

    A string shorter than the pluck point is plucked in its middle.
    """
    start = np.concatenate([[0.0], x_mm[:-1]])
    length = 1e-3 * (scale_mm - start)
    pluck = np.where(length > from_saddle_m, length - from_saddle_m, 0.5 * length)
    return length, pluck, np.clip(1e-3 * (x_mm - start[:, None]), 0.0, None)


@lru_cache(maxsize=8)
def _simulated(
    known: tuple[tuple[float, ...], ...],
    x_mm: tuple[float, ...],
    scale_mm: float,
    from_saddle_m: float,
) -> Both:
    wire = Wires(*(np.array(one) for one in known))
    length, pluck, at = _laid(np.array(x_mm), scale_mm, from_saddle_m)
    strings = np.repeat(np.arange(wire.mass.size), length.size)
    each = [np.concatenate([one] * wire.mass.size) for one in (length, pluck, at)]
    shape = (wire.mass.size, length.size, at.shape[1])
    pull, push = modal.dips(wire.of(strings), *each)
    return pull.reshape(shape), push.reshape(shape)
