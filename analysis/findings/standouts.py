"""What stands out of a smooth movement: the simplest things that explain it, one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.movement.movement import ODD, Field

What = Literal["fret", "end", "spot", "step"]

#: Less than this is no matter to anyone, mm (own choice: the finest step a file takes).
LEAST_MM = 0.003
#: More than so many and the scans are not understood anyway.
MOST = 20
#: A step has so many frets on both sides at least, else it is the frets themselves.
BESIDE_STEP = 3
#: A fret, or its end, that has so much of it off the field was left out by it (own choice).
ODD_SHARE = 0.5
#: An idea of which the ones taken already say more than all but this is not a new one.
_NEW = 1e-3


@dataclass(frozen=True, slots=True)
class Standout:
    """fret: index from 0, a step's is the first past it. lane: of a spot; an end's is the
    outermost lane there. size_mm: how much further up it moved than the neck."""

    what: What
    fret: int
    lane: int | None
    size_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class _Idea:
    what: What
    fret: int
    lane: int | None
    column: FloatArray


def standouts(
    field: Field, x_mm: FloatArray, y_mm: FloatArray, dz_mm: FloatArray, u_mm: FloatArray
) -> tuple[Standout, ...]:
    """A fret that moved as a whole, or by one end; one top; a step all across the neck.

    All arrays [frets, lanes], as the field was fitted to. Each idea is a column s beside the
    field in a linear model, d = field + a s + noise: a = s'K^-1 d / s'K^-1 s with variance
    1 / s'K^-1 s, K the noise and all that a neck can do (generalised least squares, so that
    what the field could take up itself is counted). The likeliest idea over 4.5 deviations is
    taken, the next looked for beside it, until none is left; then all are fitted together.
    That is done without steps, without steps but with what the field left out first, and with
    steps; what needs the fewest ideas is right: two loose frets beside one another are a step up
    and a step down too.
    """
    good = np.isfinite(dz_mm) & np.isfinite(u_mm)
    rows = field.design(x_mm[good], y_mm[good])
    noise = (field.scatter * u_mm[good]) ** 2
    precision = np.linalg.inv(np.diag(noise) + (rows / field.prior) @ rows.T)
    ideas = list(_ideas(good, y_mm))
    columns = np.stack([idea.column for idea in ideas], axis=1)
    step = np.array([idea.what == "step" for idea in ideas])
    # of what an idea touches, so much is off the field
    odd = (columns**2).T @ field.odd[good] / np.sum(columns**2, axis=0) > ODD_SHARE
    ways = ((~step,), (odd & ~step, ~step), (np.ones_like(step),))
    taken = min((_taken(precision, columns, dz_mm[good], way) for way in ways), key=len)
    chosen = precision @ columns[:, taken]
    covariance = np.linalg.inv(columns[:, taken].T @ chosen)
    sizes, u = covariance @ (chosen.T @ dz_mm[good]), np.sqrt(np.diag(covariance))
    return tuple(
        Standout(ideas[k].what, ideas[k].fret, ideas[k].lane, float(size), float(its_u))
        for k, size, its_u in zip(taken, sizes, u, strict=True)
        if abs(size) > max(LEAST_MM, ODD * its_u)
    )


def _taken(
    precision: FloatArray, columns: FloatArray, d: FloatArray, stages: Sequence[NDArray[np.bool_]]
) -> list[int]:
    """Which ideas are needed, of each stage's the likeliest first; one that the others make up
    is none."""
    taken: list[int] = []
    alone = np.sum(columns * (precision @ columns), axis=0)
    for allowed in stages:
        while len(taken) < MOST:
            weighed = precision @ columns
            weight = np.sum(columns * weighed, axis=0)
            new = allowed & (weight > _NEW * alone)
            weight = np.where(new, weight, 1.0)
            size = weighed.T @ d / weight
            sure = np.where(new & (np.abs(size) > LEAST_MM), np.abs(size) * np.sqrt(weight), 0.0)
            best = int(np.argmax(sure))
            if sure[best] <= ODD:
                break
            taken.append(best)
            precision = precision - np.outer(weighed[:, best], weighed[:, best]) / weight[best]
    return taken


def _ideas(good: NDArray[np.bool_], y_mm: FloatArray) -> Iterator[_Idea]:
    """Everything that could stand out where something was seen."""
    frets = good.shape[0]
    fret = np.nonzero(good)[0]
    y = y_mm[good]
    for f in range(frets):
        here = fret == f
        if np.count_nonzero(here) > 1:
            yield _Idea("fret", f, None, here.astype(float))
            for side in (1.0, -1.0):
                lane = int(np.nanargmax(side * y_mm[f]))
                rise = np.clip(side * y / max(float(np.nanmax(side * y_mm[f])), 1.0), 0.0, None)
                yield _Idea("end", f, lane, here * rise)
        for lane in np.flatnonzero(good[f]).tolist():
            at = np.zeros(good.shape)
            at[f, lane] = 1.0
            yield _Idea("spot", f, lane, at[good])
    for f in range(BESIDE_STEP, frets - BESIDE_STEP + 1):
        yield _Idea("step", f, None, (fret >= f).astype(float))
