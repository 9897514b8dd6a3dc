"""Analysis of variance with one random effect: scatter within groups, and from group to group."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc

from calibration.passes import FloatArray


class AnovaError(ValueError):
    """The readings cannot be analysed so."""


@dataclass(frozen=True, slots=True)
class OneWay:
    """Mean squares between and within balanced groups.

    per_group: readings in each group. dof_within: its degrees of freedom. The unit of the
    roots is that of the readings.
    """

    groups: int
    per_group: int
    ms_between: float
    ms_within: float
    dof_within: float

    @property
    def dof_between(self) -> int:
        """Groups less one: whatever sets the groups apart is one number for each group, however
        many items it shows in."""
        return self.groups - 1

    @property
    def dof_chance(self) -> float:
        """Of the mean square between groups where nothing sets them apart: as many for each of
        its own as the items give those within."""
        return self.dof_within * self.dof_between / (self.groups * (self.per_group - 1))

    @property
    def f(self) -> float:
        """Mean squares between over within; infinite where nothing scatters within."""
        if self.ms_within > 0.0:
            return self.ms_between / self.ms_within
        return np.inf if self.ms_between > 0.0 else 1.0

    @property
    def p(self) -> float:
        """Chance of an F this large where the groups do not differ."""
        return float(fdtrc(self.dof_chance, self.dof_within, self.f))

    @property
    def below_zero(self) -> bool:
        """Whether the between-group variance came out negative, and 0 was put in its place."""
        return self.ms_between < self.ms_within

    @property
    def s_r(self) -> float:
        """Repeatability standard deviation (ISO 5725-2): within a group."""
        return float(np.sqrt(self.ms_within))

    @property
    def s_l(self) -> float:
        """Between-group standard deviation, s_L of ISO 5725-2 and s_B of GUM H.5."""
        excess = self.ms_between - self.ms_within
        return float(np.sqrt(max(excess, 0.0) / self.per_group))

    @property
    def s_big_r(self) -> float:
        """Reproducibility standard deviation s_R, s_R^2 = s_r^2 + s_L^2 (ISO 5725-2)."""
        return float(np.hypot(self.s_r, self.s_l))

    @property
    def u_mean(self) -> float:
        """Standard uncertainty of the grand mean, groups taken as random (GUM H.5.2.5)."""
        return float(np.sqrt(self.ms_between / (self.groups * self.per_group)))


def one_way(values: FloatArray) -> OneWay:
    """Balanced one-way analysis (GUM H.5, ISO 5725-2), pooled over items measured together.

    values: float[groups, n], or float[groups, n, items]. Each item has a mean of its own; their
    mean squares are averaged.

    Items of one scan share errors, so that many of them are not as many degrees of freedom: the
    mean of the mean squares has nu tr(C)^2 / tr(C^2) of them (Satterthwaite's matching; Box
    1954), C the items' covariance, with the traces estimated without bias from nu degrees of
    freedom (Bai & Saranadasa 1996). Sources from memory; the coverage is tested.

    Raises AnovaError for fewer than two groups or two readings in each, or a missing reading.
    """
    data = values[:, :, None] if values.ndim == 2 else values
    groups, n, items = data.shape
    if groups < 2 or n < 2 or items < 1:
        raise AnovaError(f"found {groups} groups of {n} readings; allowed 2 or more of 2 or more")
    if not np.isfinite(data).all():
        raise AnovaError("found a missing reading; allowed whole groups")
    means = data.mean(axis=1)
    between = np.sqrt(n) * (means - means.mean(axis=0))
    within = (data - means[:, None]).reshape(groups * n, items)
    nu_between, nu_within = groups - 1, groups * (n - 1)
    return OneWay(
        groups,
        n,
        float(np.sum(between**2)) / (nu_between * items),
        float(np.sum(within**2)) / (nu_within * items),
        effective_dof(within, nu_within),
    )


def effective_dof(residuals: FloatArray, dof: int) -> float:
    """Degrees of freedom of the mean of the items' mean squares; `one_way` says how.

    residuals: float[rows, items], with `dof` degrees of freedom in each column. Never under
    `dof`, nor over `dof` a column; `dof` itself where it is 1 and nothing can be told.
    """
    items = residuals.shape[1]
    total = float(np.sum(residuals**2)) / dof
    if dof < 2 or items < 2 or total == 0.0:
        return float(dof)
    squared = float(np.sum((residuals @ residuals.T) ** 2)) / dof**2
    trace_2 = dof**2 / ((dof - 1) * (dof + 2)) * (squared - total**2 / dof)
    trace = total**2 - 2.0 * trace_2 / dof
    if trace_2 <= 0.0:
        return float(dof * items)
    return float(np.clip(dof * trace / trace_2, dof, dof * items))
