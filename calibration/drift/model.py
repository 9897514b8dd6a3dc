"""Drift as a random function of time whose smoothness is estimated, not set.

d(t) = slope * t + walk + wander + known effects. The walk is a Wiener process; the wander is
either its integral (whose best estimate is the cubic smoothing spline: Wahba, Spline Models
for Observational Data, 1990, ch. 1) or a Gaussian process of squared exponential covariance
(Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, 4.2). The heights of the
pads and the slope are free. Settings are weighed by their restricted likelihood, in which what
is free has been integrated out (same, 2.7).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dtrtrs

from calibration.drift.series import Effect, Series
from calibration.passes import FloatArray

#: What the two ways may differ by for other reasons (the tip's friction, a lag not quite known):
#: the same over every lane, smooth along it. Common practice, no source.
BOTH_WAYS_MM = 1e-3
BOTH_WAYS_LENGTH_MM = 150.0
#: Names a covariance over times: a walk's, a wander's by its span, an integrated walk's.
_Key = float | str | None


@dataclass(frozen=True, slots=True)
class Settings:
    """One supposition of what the drift is like.

    walk: mm per root second. wander: mm per s^1.5 where span_s is None (integrated walk), else
    mm. span_s: the time over which the wander is alike. scatter_mm: of a visit, beyond its
    readings' noise.
    """

    walk: float
    wander: float
    span_s: float | None
    scatter_mm: float


@dataclass(frozen=True, slots=True)
class Solved:
    """A series under one supposition.

    root: the covariance's Cholesky root. free, off: the free columns and the readings left by
    them, both divided by the root. information: of the free columns. log_chance: restricted
    log likelihood.
    """

    settings: Settings
    root: FloatArray
    free: FloatArray
    free_found: FloatArray
    off: FloatArray
    information: FloatArray
    log_chance: float


def divided(root: FloatArray, columns: FloatArray) -> FloatArray:
    """The columns by a lower triangular root, float[n, columns].

    LAPACK itself: hundreds of small systems are solved, and scipy's checks cost more than they.
    """
    found, fault = dtrtrs(root, columns, lower=1)
    assert fault == 0, "a Cholesky root has no zero on its diagonal"
    return np.asarray(found)


class Model:
    """A series, and what may be asked of it under any settings."""

    def __init__(self, series: Series, effects: Sequence[Effect] = ()) -> None:
        self.series = series
        self.effects = tuple(effects)
        self._start_s = float(np.min(series.t_s))
        self._middle_s = float(np.mean(series.visit_s))
        self._span_s = float(np.ptp(series.t_s)) or 1.0
        self._free = self._free_columns()
        self._columns = np.column_stack([self._free, series.value_mm])
        self._fixed = self._fixed_covariance()
        #: Visits that differ for themselves have a part in each reading, two in a difference.
        self._scattered = np.where(np.arange(series.value_mm.size) < series.visits, 1.0, 2.0)
        self._kept: dict[_Key, FloatArray] = {}
        self._among: dict[_Key, FloatArray] = {}
        self._asked: tuple[FloatArray, dict[_Key, FloatArray]] = (np.empty(0), {})

    @property
    def solvable(self) -> bool:
        """Whether more was read than is free."""
        found = int(np.linalg.matrix_rank(self._free))
        return bool(found == self._free.shape[1] < self.series.value_mm.size)

    def solve(self, settings: Settings) -> Solved:
        """The series under these settings."""
        root = np.linalg.cholesky(self._covariance(settings))
        white = divided(root, self._columns)
        free, read = white[:, :-1], white[:, -1]
        information = free.T @ free
        found = np.linalg.solve(information, free.T @ read)
        off = read - free @ found
        chance = (
            -np.sum(np.log(np.diag(root)))
            - 0.5 * np.linalg.slogdet(information)[1]
            - 0.5 * off @ off
        )
        return Solved(settings, root, free, found, off, information, float(chance))

    def drift(self, solved: Solved, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Drift less its mean over the visits, and its variance; float[n], mm, mm^2."""
        settings = solved.settings
        at = self._both(settings, lambda key: self._asked_kernel(key, t_s))
        among = self._both(settings, self._over_times)
        across = self._about_visits(at, among, t_s)
        free = np.zeros((t_s.size, self._free.shape[1]))
        free[:, -1] = (t_s - self._middle_s) / self._span_s
        seen = divided(solved.root, across.T)
        mean = free @ solved.free_found + seen.T @ solved.off
        unseen = free - seen.T @ solved.free
        variance = (
            self._own_variance(settings, at, among, t_s)
            - np.sum(seen**2, axis=0)
            + np.sum(unseen * np.linalg.solve(solved.information, unseen.T).T, axis=1)
        )
        return mean, np.clip(variance, 0.0, None)

    def amounts(self, solved: Solved) -> tuple[FloatArray, FloatArray]:
        """Amount of each known effect and its variance, float[effects]."""
        columns = self.series.rows(self._acting(self.series.t_s)) * self._sizes**2
        seen = divided(solved.root, columns)
        mean = seen.T @ solved.off
        inside = solved.free.T @ seen
        variance = (
            self._sizes**2
            - np.sum(seen**2, axis=0)
            + np.sum(inside * np.linalg.solve(solved.information, inside), axis=0)
        )
        return mean, np.clip(variance, 0.0, None)

    @property
    def _sizes(self) -> FloatArray:
        return np.array([effect.size_mm for effect in self.effects], dtype=float)

    def _acting(self, t_s: FloatArray) -> FloatArray:
        """float[n, effects]"""
        if not self.effects:
            return np.zeros((t_s.size, 0))
        return np.stack([effect.at(t_s) for effect in self.effects], axis=1)

    def _free_columns(self) -> FloatArray:
        """The height of every pad seen, and the slope."""
        pads = np.unique(self.series.pad)
        one_hot = (self.series.pad[:, None] == pads[None, :]).astype(float)
        turns = np.zeros((self.series.x_mm.size, pads.size))
        slope = self.series.rows((self.series.t_s - self._middle_s) / self._span_s)
        return np.column_stack([np.vstack([one_hot, turns]), slope])

    def _fixed_covariance(self) -> FloatArray:
        """Of noise, of what sets the two ways apart, and of the known effects."""
        v = self.series.visits
        fixed = np.diag(self.series.u_mm**2)
        apart = np.subtract.outer(self.series.x_mm, self.series.x_mm) / BOTH_WAYS_LENGTH_MM
        fixed[v:, v:] += BOTH_WAYS_MM**2 * np.exp(-0.5 * apart**2)
        seen = self.series.rows(self._acting(self.series.t_s)) * self._sizes
        return np.asarray(fixed + seen @ seen.T)

    def _covariance(self, settings: Settings) -> FloatArray:
        total = self._fixed + settings.walk**2 * self._rows(None, walk=True)
        total += settings.wander**2 * self._rows(settings.span_s)
        diagonal = total.reshape(-1)[:: len(total) + 1]
        diagonal += self._scattered * settings.scatter_mm**2
        return total

    def _rows(self, span_s: float | None, *, walk: bool = False) -> FloatArray:
        """Covariance of the readings with one another, of a walk or wander of size 1."""
        key: _Key = "walk" if walk else span_s
        if key not in self._kept:
            self._kept[key] = self.series.rows(self.series.rows(self._over_times(key)).T)
        return self._kept[key]

    def _over_times(self, key: _Key) -> FloatArray:
        if key not in self._among:
            self._among[key] = self._kernel(key, self.series.t_s, self.series.t_s)
        return self._among[key]

    def _asked_kernel(self, key: _Key, t_s: FloatArray) -> FloatArray:
        """Of times asked about with those of the series: many settings are asked in a row."""
        if self._asked[0] is not t_s:
            self._asked = (t_s, {})
        kept = self._asked[1]
        if key not in kept:
            kept[key] = self._kernel(key, t_s, self.series.t_s)
        return kept[key]

    def _kernel(self, key: _Key, a_s: FloatArray, b_s: FloatArray) -> FloatArray:
        """Covariance over two lists of times, float[a, b]."""
        a, b = a_s[:, None] - self._start_s, b_s[None, :] - self._start_s
        if isinstance(key, float):
            return np.asarray(np.exp(-0.5 * ((a - b) / key) ** 2))
        early, late = np.minimum(a, b), np.maximum(a, b)
        return np.asarray(early if key == "walk" else early**2 * (3.0 * late - early) / 6.0)

    def _both(self, settings: Settings, kernel: Callable[[_Key], FloatArray]) -> FloatArray:
        walk = settings.walk**2 * kernel("walk")
        return np.asarray(walk + settings.wander**2 * kernel(settings.span_s))

    def _about_visits(self, at: FloatArray, among: FloatArray, t_s: FloatArray) -> FloatArray:
        """Covariance of drift less its mean over the visits with every reading, [n, readings].

        at: of the drift at t_s, among: of that at the series' times, with the series' times.
        """
        acting, seen = self._acting(t_s), self._acting(self.series.t_s)
        acting = acting - self._acting(self.series.visit_s).mean(axis=0)
        mean = among[: self.series.visits].mean(axis=0)
        whole = at - mean + (acting * self._sizes**2) @ seen.T
        return self.series.rows(whole.T).T

    def _own_variance(
        self, settings: Settings, at: FloatArray, among: FloatArray, t_s: FloatArray
    ) -> FloatArray:
        """Of drift less its mean over the visits, before anything was read; as `_about_visits`."""
        v = self.series.visits
        since = t_s - self._start_s
        wander = np.ones_like(since) if settings.span_s is not None else since**3 / 3.0
        own = settings.walk**2 * since + settings.wander**2 * wander
        cross = at[:, :v].mean(axis=1)
        mean = np.ascontiguousarray(among[:v, :v]).mean()
        acting = self._acting(t_s) - self._acting(self.series.visit_s).mean(axis=0)
        return np.asarray(own - 2.0 * cross + mean + np.sum((acting * self._sizes) ** 2, axis=1))
