"""Crown tops of a whole scan at once, by the shape and not by the highest reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.crowns.radius import RadiusPrior, radius_prior
from analysis.crowns.trace import trace
from analysis.crowns.windows import Windows
from analysis.instrument import FloatArray

#: Flats tried, mm. The step is small enough that the top between two tries is off by less
#: than the noise: the top moves by flat / (4 radius) of the flat's error.
FLATS_MM = tuple(0.03 * i for i in range(31))
#: Chance, before looking, that a crown is whole; the rest is spread evenly over the flats.
WHOLE = 0.3
#: Crown radius before looking: fret wire runs from about 0.7 to 2 mm (common practice, no source).
RADIUS_MM, RADIUS_SPREAD_MM = 1.25, 0.4
#: Gauss-Newton steps for the first flat, and for each next one, begun at its neighbour's fit.
_STEPS, _NEXT_STEPS = 6, 2
#: A reading this many robust deviations off its crown's shape is wild.
WILD_SIGMAS = 6.0
WILD_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Crowns:
    """One entry for each window, NaN where the fit had too few readings.

    x_mm: apex position, carriage. z_mm: top; u_noise_mm: its standard uncertainty from noise;
    u_shape_mm: from not knowing the flat, which passes over one crown share.
    flat_mm: expected width of the flat. radius_mm: crown radius. misfit: reduced chi-square.
    """

    x_mm: FloatArray
    z_mm: FloatArray
    u_noise_mm: FloatArray
    u_shape_mm: FloatArray
    flat_mm: FloatArray
    radius_mm: FloatArray
    misfit: FloatArray


@dataclass(frozen=True, slots=True)
class _Fit:
    """Best fit at one flat width: parameters (x, z, radius), their variances, chi-square."""

    x: FloatArray
    z: FloatArray
    radius: FloatArray
    var_x: FloatArray
    var_z: FloatArray
    var_radius: FloatArray
    chi2: FloatArray


def fit_crowns(
    windows: Windows,
    ball_mm: float,
    groups: Sequence[int] | None = None,
    frets: Sequence[int] | None = None,
) -> Crowns:
    """Tops of all windows: circle fits with every flat tried, averaged by how well they do.

    For each flat width the position, top and radius are fitted by Gauss-Newton with known
    noise; the top is the mean over the widths, weighted by posterior chance, and its variance
    holds both each fit's own and the spread between them. So a flat too small to be seen
    costs uncertainty, not silent bias. The radius has a prior from the other crowns of the
    same fret, as close as those are alike (`radius_prior`). `groups` names windows that show
    the same crown (the passes both ways): they share one posterior for the flat. `frets` names
    windows on one fret, crowned by one file; without it all are taken for one.

    Readings that no shape explains are left out first (`_without_wild`).
    """
    group = np.arange(windows.count) if groups is None else np.asarray(groups)
    fret = np.zeros(windows.count, dtype=int) if frets is None else np.asarray(frets)
    first = RadiusPrior(np.full(windows.count, RADIUS_MM), np.full(windows.count, RADIUS_SPREAD_MM))
    windows = _without_wild(windows, ball_mm, first)
    fits = _fit_flats(windows, ball_mm, first)
    prior = radius_prior(*_radius(fits, _posterior(fits, windows, group)), fret)
    fits = _fit_flats(windows, ball_mm, prior)
    return _average(fits, _posterior(fits, windows, group), windows)


def _without_wild(windows: Windows, ball_mm: float, prior: RadiusPrior) -> Windows:
    """Leaves out readings more than 6 robust deviations off their window's likeliest shape.

    One wild reading drags the fit it is in, so the windows that lost readings are fitted again,
    a few times, until they lose no more.
    """
    busy = np.arange(windows.count)
    ok = windows.ok.copy()
    for _ in range(WILD_ROUNDS):
        some = windows.rows(busy).without(~ok[busy])
        fits = _fit_flats(some, ball_mm, prior.rows(busy))
        best = _best(fits, _posterior(fits, some, np.arange(some.count)))
        far = _far(some, best, ball_mm)
        ok[busy] &= ~far
        busy = busy[far.any(axis=1)]
        if busy.size == 0:
            break
    return windows.without(~ok)


def _fit_flats(windows: Windows, ball_mm: float, prior: RadiusPrior) -> list[_Fit]:
    fits: list[_Fit] = []
    for flat in FLATS_MM:
        start = fits[-1] if fits else None
        fits.append(_fit_flat(windows, ball_mm, flat, prior, start))
    return fits


def _fit_flat(
    windows: Windows, ball_mm: float, flat: float, prior: RadiusPrior, start: _Fit | None
) -> _Fit:
    """Gauss-Newton over all windows at one flat width; steps are bounded."""
    if start is None:
        x, z = windows.start_x_mm.copy(), windows.start_z_mm.copy()
        radius = prior.mean_mm.copy()
    else:
        x, z, radius = start.x.copy(), start.z.copy(), start.radius.copy()
    weight = np.where(windows.ok, 1.0 / windows.noise_mm[:, None] ** 2, 0.0)
    hessian = np.tile(np.eye(3), (x.size, 1, 1))
    for _ in range(_STEPS if start is None else _NEXT_STEPS):
        shape = trace(windows.x_mm - x[:, None], radius[:, None], flat, ball_mm)
        off = windows.z_mm - z[:, None] - shape.z_mm
        design = np.stack([-shape.dz_dx, np.ones_like(off), shape.dz_dr], axis=2)
        hessian = np.einsum("ci,cij,cik->cjk", weight, design, design)
        hessian[:, 2, 2] += 1.0 / prior.spread_mm**2
        hessian += 1e-6 * np.eye(3)
        gradient = np.einsum("ci,cij,ci->cj", weight, design, off)
        gradient[:, 2] += (prior.mean_mm - radius) / prior.spread_mm**2
        step = np.linalg.solve(hessian, gradient[:, :, None])[:, :, 0]
        x = x + np.clip(step[:, 0], -0.3, 0.3)
        z = z + np.clip(step[:, 1], -0.1, 0.1)
        radius = np.clip(radius + np.clip(step[:, 2], -0.3, 0.3), 0.5, 4.0)
    shape = trace(windows.x_mm - x[:, None], radius[:, None], flat, ball_mm)
    off = windows.z_mm - z[:, None] - shape.z_mm
    variance = np.linalg.inv(hessian)
    chi2 = np.sum(weight * off**2, axis=1) + ((radius - prior.mean_mm) / prior.spread_mm) ** 2
    return _Fit(x, z, radius, variance[:, 0, 0], variance[:, 1, 1], variance[:, 2, 2], chi2)


def _posterior(fits: Sequence[_Fit], windows: Windows, group: NDArray[np.int_]) -> FloatArray:
    """float[flats, windows]: chance of each flat, shared by the windows of a group.

    Where even the best shape misfits, chi-square is scaled down to its degrees of freedom, so
    that a crown of another shape is not decided on with false certainty.
    """
    chi2 = np.array([f.chi2 for f in fits])
    free = np.maximum(np.count_nonzero(windows.ok, axis=1) - 3, 1)
    scale = np.maximum(1.0, chi2.min(axis=0) / free)
    log_chance = -0.5 * (chi2 - chi2.min(axis=0)) / scale
    summed = np.zeros((len(fits), int(group.max()) + 1))
    for i in range(len(fits)):
        summed[i] = np.bincount(group, log_chance[i], minlength=summed.shape[1])
    width = np.gradient(np.array(FLATS_MM))
    before = (1.0 - WHOLE) * width / width[1:].sum()
    before[0] = WHOLE
    chance = before[:, None] * np.exp(summed - summed.max(axis=0))
    return np.asarray((chance / chance.sum(axis=0))[:, group])


def _radius(fits: Sequence[_Fit], chance: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean radius of each window over the flats; its variance from noise, and from the flat."""
    radius = np.array([f.radius for f in fits])
    mean = np.sum(chance * radius, axis=0)
    noise = np.sum(chance * np.array([f.var_radius for f in fits]), axis=0)
    return mean, noise, np.sum(chance * (radius - mean) ** 2, axis=0)


def _best(fits: Sequence[_Fit], chance: FloatArray) -> FloatArray:
    """(window, [x, z, radius, flat]) of each window's likeliest shape."""
    which = np.argmax(chance, axis=0)
    pick = np.arange(which.size)
    stacked = np.array([[f.x, f.z, f.radius] for f in fits])
    return np.column_stack([stacked[which, :, pick], np.array(FLATS_MM)[which]])


def _far(windows: Windows, best: FloatArray, ball_mm: float) -> NDArray[np.bool_]:
    """Readings that the likeliest shape cannot explain."""
    far = np.zeros_like(windows.ok)
    for flat in np.unique(best[:, 3]).tolist():
        rows = best[:, 3] == flat
        at = windows.x_mm[rows] - best[rows, 0:1]
        off = windows.z_mm[rows] - best[rows, 1:2] - trace(at, best[rows, 2:3], flat, ball_mm).z_mm
        ok = windows.ok[rows]
        off = off - _row_median(off, ok)
        spread = 1.4826 * _row_median(np.abs(off), ok)
        limit = WILD_SIGMAS * np.maximum(windows.noise_mm[rows][:, None], spread)
        far[rows] = ok & (np.abs(off) > limit)
    return far


def _row_median(values: FloatArray, ok: NDArray[np.bool_]) -> FloatArray:
    """[windows, 1]: median of each window's readings, 0 in an empty one."""
    masked = np.ma.median(np.ma.masked_array(values, ~ok), axis=1)  # type: ignore[no-untyped-call]
    return np.asarray(np.ma.filled(masked, 0.0))[:, None]


def _average(fits: Sequence[_Fit], chance: FloatArray, windows: Windows) -> Crowns:
    z = np.array([f.z for f in fits])
    mean = np.sum(chance * z, axis=0)
    chi2 = np.sum(chance * np.array([f.chi2 for f in fits]), axis=0)
    count = np.count_nonzero(windows.ok, axis=1)
    misfit = chi2 / np.maximum(count - 3, 1)
    within = np.sum(chance * np.array([f.var_z for f in fits]), axis=0) * np.maximum(misfit, 1.0)
    between = np.sum(chance * (z - mean) ** 2, axis=0)
    few = count < 8
    flat = np.sum(chance * np.array(FLATS_MM)[:, None], axis=0)

    def known(values: FloatArray) -> FloatArray:
        return np.where(few, np.nan, values)

    return Crowns(
        x_mm=known(np.sum(chance * np.array([f.x for f in fits]), axis=0)),
        z_mm=known(mean),
        u_noise_mm=known(np.sqrt(within)),
        u_shape_mm=known(np.sqrt(between)),
        flat_mm=known(np.where(chance[0] > 0.5, 0.0, flat)),
        radius_mm=known(np.sum(chance * np.array([f.radius for f in fits]), axis=0)),
        misfit=known(misfit),
    )
