"""Readings that no crown explains: spikes, hairs, dirt."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.grid import FLATS_MM, SLOPES, VALUES
from analysis.crowns.sweep import Sweep, bend_prior, sweep
from analysis.crowns.trace import Eye, trace
from analysis.crowns.windows import Windows
from analysis.instrument import FloatArray

#: A reading this many robust deviations off its crown's shape is wild.
WILD_SIGMAS = 6.0
#: Where nothing fits (reduced chi-square over MISFIT), the fit is dragged, and those this far off
#: are left out once, to be judged again by a fit without them.
DRAGGED_SIGMAS, MISFIT = 2.5, 4.0
ROUNDS = 6


def tame(windows: Windows, eye: Eye) -> tuple[Windows, Sweep]:
    """The windows without their wild readings, and the sweep over what is left.

    A reading is wild where it lies more than 6 robust deviations off its window's likeliest
    shape. One wild reading drags the fit it is in: windows that lost readings are fitted again
    and all their readings judged anew, until none changes its side.
    """
    busy = np.arange(windows.count)
    ok = windows.ok.copy()
    found = sweep(windows, eye)
    sigmas = np.where(_misfit(found, ok) > MISFIT, DRAGGED_SIGMAS, WILD_SIGMAS)
    for _ in range(ROUNDS):
        some = windows.rows(busy)
        far = _deviations(some, ok[busy], found.columns(busy), eye) > sigmas[busy][:, None]
        sigmas[:] = WILD_SIGMAS
        kept = some.ok & ~far
        changed = (kept != ok[busy]).any(axis=1)
        busy, kept = busy[changed], kept[changed]
        if busy.size == 0:
            break
        ok[busy] = kept
        found = found.with_columns(busy, sweep(windows.keeping(ok).rows(busy), eye))
    return windows.keeping(ok), found


def _misfit(found: Sweep, ok: NDArray[np.bool_]) -> FloatArray:
    """Reduced chi-square of each window at the likeliest node."""
    free = np.maximum(np.count_nonzero(ok, axis=1) - 4, 1)
    return np.asarray(found.chi2.min(axis=0) / free)


def _deviations(windows: Windows, ok: NDArray[np.bool_], found: Sweep, eye: Eye) -> FloatArray:
    """How far each reading lies off the likeliest shape, in robust deviations of those kept."""
    likeliest = np.argmin(VALUES @ found.chi2 + SLOPES @ found.chi2_by, axis=0)
    value, slope = VALUES[likeliest].T, SLOPES[likeliest].T

    def there(at: FloatArray, by: FloatArray) -> FloatArray:
        return np.asarray(np.sum(value * at + slope * by, axis=0)[:, None])

    x, z = there(found.x_mm, found.x_by), there(found.z_mm, found.z_by)
    curvature = bend_prior(eye)[0] + there(found.bend, found.bend_by)
    flat = FLATS_MM[likeliest][:, None]
    off = windows.z_mm - z - trace(windows.x_mm - x, curvature, flat, eye).z_mm
    off = off - _row_median(off, ok)
    spread = 1.4826 * _row_median(np.abs(off), ok)
    return np.asarray(np.abs(off) / np.maximum(windows.noise_mm[:, None], spread))


def _row_median(values: FloatArray, ok: NDArray[np.bool_]) -> FloatArray:
    """[windows, 1]: median of each window's readings (of two the lower), 0 in an empty one."""
    ranked = np.sort(np.where(ok, values, np.inf), axis=1)
    count = np.count_nonzero(ok, axis=1)
    middle = ranked[np.arange(count.size), np.maximum(count - 1, 0) // 2]
    return np.where(count > 0, middle, 0.0)[:, None]
