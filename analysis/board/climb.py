"""Whether the tip climbs on a slope across: what the board's own radius says of it.

A tip's radius is known along its travel. Across, it may be a ball, which rides higher on a slope,
or a wheel or an edge, which does not. A ball also makes an arc look flatter by its own radius, and
that shows where the board was made to its radius.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray

#: Chance, before looking, of a ball, of none of its lift, and of anything between: most contact
#: tips are balls (common practice, no source; shares are an own estimate).
BALL, NONE, BETWEEN = 0.6, 0.25, 0.15
#: A board may be machined to its radius: then it is off by no more than this share, that of the
#: cross slide's millimetre included, and by the rounding of the file's to whole millimetres.
MADE_SHARE, ROUNDING_MM = 0.001, 1.0 / np.sqrt(12.0)
#: Or it was sanded, and is off by some such share; or the file has another radius altogether.
SANDED_SHARE = 0.015
#: How many boards are of each kind (own estimates).
MACHINED, SANDED, OTHER = 0.3, 0.6, 0.1
_SHARES = np.linspace(0.0, 1.0, 41)


@dataclass(frozen=True, slots=True)
class Climb:
    """The share of a ball's lift that the tip has across, from 0 to 1, and its u."""

    share: float
    u_share: float


def climb_of(
    trace_radius_mm: FloatArray, covariance: FloatArray, made_mm: FloatArray, ball_mm: float
) -> Climb:
    """Posterior mean and standard deviation of the share, by Bayes over the kinds of board.

    A tip with share s traces radius + s ball. A machined board decides; a sanded one, whose
    radius is off by many balls, leaves every share as likely as it was.

    trace_radius_mm: float[2], as read at the two ends; covariance: float[2, 2] of those; made_mm:
    float[2], by the instrument's file. Radii that were not read say nothing.
    """
    prior = np.full(_SHARES.size, BETWEEN / _SHARES.size)
    prior[0] += NONE
    prior[-1] += BALL
    chance = prior
    if ball_mm > 0.0 and np.isfinite(covariance).all():
        off = trace_radius_mm - made_mm - ball_mm * _SHARES[:, None]
        machined = covariance + np.diag((MADE_SHARE * made_mm) ** 2 + ROUNDING_MM**2)
        sanded = machined + np.diag((SANDED_SHARE * made_mm) ** 2)
        said = MACHINED * _density(off, machined) + SANDED * _density(off, sanded)
        said += OTHER / np.prod(made_mm)
        chance = prior * said
    chance = chance / chance.sum()
    share = float(chance @ _SHARES)
    return Climb(share, float(np.sqrt(chance @ (_SHARES - share) ** 2)))


def _density(off: FloatArray, covariance: FloatArray) -> FloatArray:
    """Of a Gaussian, float[n], at off: float[n, 2]."""
    square = np.einsum("ni,ij,nj->n", off, np.linalg.inv(covariance), off)
    return np.asarray(np.exp(-0.5 * square) / np.sqrt(np.linalg.det(covariance)))
