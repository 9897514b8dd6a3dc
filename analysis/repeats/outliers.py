"""One top seen in several scans: which of them to believe."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray

#: A top this many deviations off the other scans' is off (as the movement's ODD).
ODD = 4.5
#: Nearer than this it may stay, mm: of three scans it moves the mean by 1.3 µm, about as much as
#: a top is known to anyhow (own choice).
HARMLESS_MM = 0.004

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Settled:
    """What was made of tops that scans disagree about.

    kept: bool[scans, places]. spread_mm: float[places], the standard uncertainty for not
    knowing which scan is right, 0 where that is known.
    """

    kept: Mask
    spread_mm: FloatArray


def settled(values_mm: FloatArray, u_mm: FloatArray) -> Settled:
    """Leaves out what is off; values_mm, u_mm: [scans, places] in the order of time, NaN unseen.

    Of three scans and more, one that stands off the others is left out. But the latest is left
    out only where it stands higher: metal goes and does not come back, dirt comes and is wiped
    off, so a top that was higher before and is lower now, is lower. Where it cannot be told
    which scan is right (two scans only, or two camps), the lower ones are kept, for dirt lifts
    a tip and nothing sinks one, and half the way to the highest becomes an uncertainty.
    """
    kept = np.isfinite(values_mm) & np.isfinite(u_mm)
    spread = np.zeros(values_mm.shape[1])
    for place in np.flatnonzero(~_agree(values_mm, u_mm, kept)):
        kept[:, place], spread[place] = _settle(values_mm[:, place], u_mm[:, place], kept[:, place])
    return Settled(kept, spread)


def off_the_others(
    values_mm: FloatArray, u_mm: FloatArray, kept: Mask
) -> tuple[FloatArray, FloatArray]:
    """Each value less the weighted mean of the other kept ones, and its u: [scans, places]."""
    weight = np.where(kept, 1.0 / np.maximum(u_mm, 1e-6) ** 2, 0.0)
    held = weight * np.where(kept, values_mm, 0.0)
    rest = weight.sum(axis=0) - weight
    with np.errstate(invalid="ignore", divide="ignore"):
        seen = rest > 0.0
        mean = np.where(seen, (held.sum(axis=0) - held) / rest, np.nan)
        u = np.where(seen, np.sqrt(u_mm**2 + 1.0 / rest), np.nan)
    return values_mm - mean, u


def _agree(values_mm: FloatArray, u_mm: FloatArray, kept: Mask) -> Mask:
    """bool[places]: no kept value is off the others."""
    off, u = off_the_others(values_mm, u_mm, kept)
    odd = np.abs(off) > np.maximum(ODD * u, HARMLESS_MM)
    return np.asarray(~np.any(odd & kept, axis=0))


def _settle(values: FloatArray, u: FloatArray, seen: Mask) -> tuple[Mask, float]:
    """One place: the largest choice of scans that agree, the later one of two as large."""
    near = np.maximum(ODD * np.sqrt(2.0) * u, HARMLESS_MM)
    choices = [*_majority(values, near, seen), *_since_it_sank(values, seen)]
    for choice in sorted(choices, key=lambda one: (-one.sum(), -np.argmax(one))):
        if _agree(values[:, None], u[:, None], choice[:, None])[0]:
            return choice, 0.0
    low = seen & (values - values[seen].min() <= near)
    return low, 0.5 * float(values[seen].max() - values[low].mean())


def _majority(values: FloatArray, near: FloatArray, seen: Mask) -> list[Mask]:
    """Those about the median, where they are more than half, and the latest did not sink."""
    among = seen & (np.abs(values - np.median(values[seen])) <= near)
    latest = np.flatnonzero(seen)[-1]
    told = 2 * among.sum() > seen.sum() and seen.sum() > 2
    sank = not among[latest] and values[latest] < values[among].max(initial=-np.inf)
    return [among] if told and not sank else []


def _since_it_sank(values: FloatArray, seen: Mask) -> list[Mask]:
    """Every later part that lies below all of an earlier part of two scans or more."""
    out = []
    for first in np.flatnonzero(seen)[2:]:
        later = np.arange(values.size) >= first
        if values[seen & later].max() < values[seen & ~later].min():
            out.append(seen & later)
    return out
