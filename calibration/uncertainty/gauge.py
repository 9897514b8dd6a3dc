"""A gauge study: how much of what is seen is the parts, how much the measuring."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc

from calibration.passes import FloatArray
from calibration.uncertainty.anova import AnovaError

#: An interaction likelier than this to be chance is pooled with the repeatability: Bancroft's
#: rule for preliminary tests (from memory). Some use 0.05, which hides more.
POOL_ABOVE = 0.25
#: A category is a step of this many measuring deviations (AIAG, Measurement Systems Analysis).
CATEGORY = 1.41


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table of variances."""

    dof: int
    ss: float

    @property
    def ms(self) -> float:
        """Mean square."""
        return self.ss / self.dof


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """Two crossed random effects with their interaction, and the components that follow.

    ev: equipment variation (repeatability); av: appraiser variation, what the interaction adds
    included; pv: part variation; standard deviations in the readings' unit. interaction_p: its
    chance; pooled: whether it was taken for chance.
    """

    part: Line
    appraiser: Line
    interaction: Line
    equipment: Line
    interaction_p: float
    pooled: bool
    ev: float
    av: float
    pv: float

    @property
    def grr(self) -> float:
        """All that measuring adds."""
        return float(np.hypot(self.ev, self.av))

    @property
    def tv(self) -> float:
        """Total variation."""
        return float(np.hypot(self.grr, self.pv))

    @property
    def grr_percent(self) -> float:
        """Measuring as a share of the total variation; 0 where nothing varies."""
        return 100.0 * self.grr / self.tv if self.tv > 0.0 else 0.0

    @property
    def categories(self) -> float:
        """How many kinds of part the gauge tells apart, before it is cut to a whole number."""
        return CATEGORY * self.pv / self.grr if self.grr > 0.0 else np.inf


def gauge_study(values: FloatArray) -> GaugeStudy:
    """Gauge repeatability and reproducibility by analysis of variance (AIAG, MSA manual).

    values: float[parts, appraisers, trials]. A component that comes out negative is 0. Raises
    AnovaError for fewer than two of any of them, or a missing reading.
    """
    parts, appraisers, trials = values.shape
    if min(parts, appraisers, trials) < 2:
        raise AnovaError(
            f"found {parts} parts, {appraisers} appraisers, {trials} trials; allowed 2 or more each"
        )
    if not np.isfinite(values).all():
        raise AnovaError("found a missing reading; allowed every part in every trial")
    part, appraiser, interaction, equipment = _lines(values)
    p = _chance(interaction, equipment)
    pooled = p > POOL_ABOVE
    repeat = equipment
    if pooled:
        repeat = Line(equipment.dof + interaction.dof, equipment.ss + interaction.ss)
    beneath = repeat if pooled else interaction
    crossed = _above(interaction.ms, equipment.ms, trials) if not pooled else 0.0
    by_appraiser = _above(appraiser.ms, beneath.ms, parts * trials)
    by_part = _above(part.ms, beneath.ms, appraisers * trials)
    return GaugeStudy(
        part,
        appraiser,
        interaction,
        equipment,
        p,
        pooled,
        float(np.sqrt(repeat.ms)),
        float(np.sqrt(by_appraiser + crossed)),
        float(np.sqrt(by_part)),
    )


def _lines(values: FloatArray) -> tuple[Line, Line, Line, Line]:
    """Sums of squares of part, appraiser, interaction and equipment."""
    parts, appraisers, trials = values.shape
    cell = values.mean(axis=2)
    by_part = cell.mean(axis=1) - cell.mean()
    by_appraiser = cell.mean(axis=0) - cell.mean()
    crossed = cell - cell.mean() - by_part[:, None] - by_appraiser
    return (
        Line(parts - 1, appraisers * trials * float(np.sum(by_part**2))),
        Line(appraisers - 1, parts * trials * float(np.sum(by_appraiser**2))),
        Line((parts - 1) * (appraisers - 1), trials * float(np.sum(crossed**2))),
        Line(parts * appraisers * (trials - 1), float(np.sum((values - cell[:, :, None]) ** 2))),
    )


def _chance(upper: Line, lower: Line) -> float:
    """Chance of an F this large; 1 where neither scatters."""
    if lower.ms > 0.0:
        return float(fdtrc(upper.dof, lower.dof, upper.ms / lower.ms))
    return 0.0 if upper.ms > 0.0 else 1.0


def _above(upper: float, lower: float, count: int) -> float:
    return max(upper - lower, 0.0) / count
