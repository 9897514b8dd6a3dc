"""How well a rig repeats itself on a neck, and whether what it states holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.repeats.repeated import Repeated
from calibration.uncertainty.anova import OneWay, one_way
from calibration.uncertainty.budget import Term
from calibration.uncertainty.components import (
    Spread,
    between,
    chance_of_scatter,
    repeatability,
    reproducibility,
)
from calibration.uncertainty.gauge import GaugeStudy, gauge_study

#: A scatter less likely than this under what is stated says that too little is stated.
TOO_SMALL = 0.05


@dataclass(frozen=True, slots=True)
class Scatter:
    """Mean squares of one kind of result, mm^2, with what was stated for it, mm.

    stated_mm: its standard uncertainty. random_mm: the part of that which may differ between
    scans of one clamping.
    """

    anova: OneWay
    stated_mm: float
    random_mm: float

    @property
    def s_r(self) -> Spread:
        """Repeatability: scan to scan, one clamping."""
        return repeatability(self.anova)

    @property
    def s_l(self) -> Spread:
        """What clamping anew adds."""
        return between(self.anova)

    @property
    def s_big_r(self) -> Spread:
        """Reproducibility: scan to scan, clamped anew each time."""
        return reproducibility(self.anova)

    @property
    def ratio(self) -> Spread:
        """s_R over the stated uncertainty."""
        one = self.s_big_r
        return Spread(*(value / self.stated_mm for value in (one.s, one.low, one.high)))

    @property
    def chance(self) -> float:
        """Of scans of one clamping scattering so much if the stated uncertainty is right."""
        return chance_of_scatter(self.anova.ms_within, self.anova.dof_within, self.stated_mm**2)

    @property
    def chance_random(self) -> float:
        """The same against the random part alone."""
        return chance_of_scatter(self.anova.ms_within, self.anova.dof_within, self.random_mm**2)

    @property
    def holds(self) -> bool:
        """Whether the stated uncertainty covers what was seen: chi-square for scans of one
        clamping at 5 %, the interval of s_R for all."""
        return self.chance >= TOO_SMALL and self.ratio.low <= 1.0

    @property
    def measured_terms(self) -> tuple[Term, ...]:
        """What a budget must add: scatter beyond the random part, and what clamping adds."""
        excess = np.sqrt(max(self.anova.ms_within - self.random_mm**2, 0.0))
        return (
            Term("repeat", float(excess), dof=self.anova.dof_within),
            Term("clamping", self.anova.s_l, dof=float(self.anova.dof_between)),
        )


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Tops and relief, pooled; each top by itself; and the gauge study's view.

    s_r_mm, s_l_mm, s_big_r_mm: float[frets, lanes], NaN where a top was not seen in every scan.
    relief: None where no lane's chord was seen. gauge: parts are tops, appraisers clampings.
    """

    tops: Scatter
    relief: Scatter | None
    gauge: GaugeStudy
    seen: NDArray[np.bool_]
    s_r_mm: FloatArray
    s_l_mm: FloatArray
    s_big_r_mm: FloatArray


def study(repeated: Repeated) -> Repeatability:
    """Analysis of variance of repeated scans: clampings are the groups (ISO 5725-2, GUM H.5).

    What all scans share is not seen: the rail's map, the sensor's curve, the tip.
    """
    each = np.full((3, *repeated.seen.shape), np.nan)
    each[:, repeated.seen] = np.transpose(
        [_each(one) for one in np.moveaxis(repeated.off_mm, 2, 0)]
    )
    chords = repeated.relief_mm[..., np.isfinite(repeated.relief_mm).all(axis=(0, 1))]
    relief = None
    if chords.shape[-1] > 0:
        relief = Scatter(one_way(chords), repeated.u_relief_mm, repeated.u_random_relief_mm)
    return Repeatability(
        Scatter(one_way(repeated.off_mm), repeated.u_mm, repeated.u_random_mm),
        relief,
        gauge_study(np.moveaxis(repeated.off_mm + repeated.mean_mm, 2, 0)),
        repeated.seen,
        *each,
    )


def _each(values: FloatArray) -> tuple[float, float, float]:
    found = one_way(values)
    return found.s_r, found.s_l, found.s_big_r
