"""The removal law: what a hand takes off when it means to take something."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.after.line import Beliefs, Cuts, lines_through
from analysis.after.slips import no_slip
from analysis.instrument import FloatArray

FEWEST_CUTS = 3
#: A gain nobody has measured yet: a hand means to take what it takes, give or take (own choice).
NEW_GAIN, U_NEW_GAIN = 1.0, 0.3
#: What a hand takes that means to take nothing, µm: standard deviations to choose from, the
#: first likeliest before any data. Polish and recrowning take a little (own choice).
NOTHING_UM = ((0.5, 0.8), (2.0, 0.2))
#: What one session's cuts share beside gain, µm: scans laid a little high or low on one
#: another, crowns all read a little otherwise before filing than after (own choice).
SHARED_UM = 0.3
#: How far gains of sessions differ: the hand's day, the tool's wear. Standard deviations to
#: choose from, believed as a normal of width DAY_GAIN would have it (own choice).
DAY_GAINS = (0.0, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.06, 0.09, 0.13)
DAY_GAIN = 0.02
#: How far single cuts scatter, µm: from less than can be seen to more than is of use.
SCATTERS_UM = (0.05, 0.2, 0.4, 0.6, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.5, 8.0, 12.0)


@dataclass(frozen=True, slots=True)
class Session:
    """One plan carried out and scanned again: what was meant and what came off, µm.

    Each float[cuts]; u_: standard uncertainties.
    """

    planned_um: FloatArray
    achieved_um: FloatArray
    u_planned_um: FloatArray
    u_achieved_um: FloatArray


@dataclass(frozen=True, slots=True)
class Law:
    """achieved = offset + gain * planned, with standard uncertainties and scatter.

    u_gain, u_offset_um: of the tool's own gain and offset, the mean of its sessions;
    correlation is between the two. day_gain: how far the gain of one session lies off that,
    standard deviation. scatter_um: how far a single cut lies off its session's line, measuring
    uncertainty taken out. shallowest_um, deepest_um: of the cuts meant.
    """

    gain: float
    u_gain: float
    offset_um: float
    u_offset_um: float
    scatter_um: float
    cuts: int
    sessions: int = 1
    day_gain: float = 0.0
    correlation: float = 0.0
    shallowest_um: float = 0.0
    deepest_um: float = float("inf")


def fit_law(sessions: Sequence[Session], gain: float = NEW_GAIN, u_gain: float = U_NEW_GAIN) -> Law:
    """The law of one tool in one metal, from every session of it.

    A line with errors in both variables a session, sessions about a common one, and that about
    what was thought before: the gain by `gain` and `u_gain`, which other tools of the workshop
    may tell (`workshop_gain`), the offset about nothing. How far cuts scatter, how far sessions
    differ and how near nothing the offset lies is not set: every value is weighed by its
    evidence, and what remains open widens the uncertainties (Gelman et al., Bayesian Data
    Analysis, ch. 5). Slips are left out before. Raises ValueError under 3 cuts of different
    depth.
    """
    cuts = _known(sessions)
    if cuts.x.size < FEWEST_CUTS or np.ptp(cuts.x) < 1e-9:
        raise ValueError(f"a law needs at least {FEWEST_CUTS} cuts of different depth")
    cuts = cuts.only(no_slip(cuts))
    if cuts.x.size < FEWEST_CUTS or np.ptp(cuts.x) < 1e-9:
        raise ValueError("too few cuts agree with one another to be a law")
    return _weighed(cuts, *_tried(cuts, gain, u_gain))


def _tried(cuts: Cuts, gain: float, u_gain: float) -> tuple[FloatArray, ...]:
    """Every scatter, day's gain and offset's nearness tried.

    Log weights [n], means [n, 2], covariances [n, 2, 2], (scatter, day) [n, 2].
    """
    days, nothing = (a.ravel() for a in np.meshgrid(DAY_GAINS, [sd for sd, _ in NOTHING_UM]))
    believed = np.repeat([share for _, share in NOTHING_UM], len(DAY_GAINS))
    # a value stands for the stretch around it
    before = np.log(believed) - 0.5 * (days / DAY_GAIN) ** 2
    before += np.log(np.tile(_stretch(DAY_GAINS), len(NOTHING_UM)))
    sd = np.stack([nothing, np.full_like(days, u_gain)], axis=-1)
    session_sd = np.stack([np.full_like(days, SHARED_UM), days], axis=-1)
    at = np.array([0.0, gain])
    beliefs = Beliefs(at, sd, session_sd)
    weights, means, covariances, values = [], [], [], []
    for scatter, stretch in zip(SCATTERS_UM, _stretch(SCATTERS_UM), strict=True):
        lines = lines_through(cuts, scatter, beliefs, at)
        at = lines.mean[0]
        # of half a micrometre or of five: a bell with wide skirts about one (Cauchy)
        weights.append(lines.log_evidence + before + np.log(stretch) - np.log1p(scatter**2))
        means.append(lines.mean)
        covariances.append(lines.covariance)
        values.append(np.stack([np.full_like(days, scatter), days], axis=-1))
    return tuple(np.concatenate(part) for part in (weights, means, covariances, values))


def _known(sessions: Sequence[Session]) -> Cuts:
    """All cuts that were seen, in one row."""
    if not sessions:
        raise ValueError(f"a law needs at least {FEWEST_CUTS} cuts of different depth")
    x, y, u_x, u_y = (
        np.concatenate([getattr(one, name) for one in sessions])
        for name in ("planned_um", "achieved_um", "u_planned_um", "u_achieved_um")
    )
    session = np.repeat(np.arange(len(sessions)), [one.planned_um.size for one in sessions])
    seen = np.isfinite(x) & np.isfinite(y) & np.isfinite(u_y)
    return Cuts(x, y, u_x**2, u_y**2, session).only(seen)


def _stretch(values: Sequence[float]) -> FloatArray:
    edges = np.concatenate([values[:1], 0.5 * (np.array(values[1:]) + values[:-1]), values[-1:]])
    return np.diff(edges)


def _weighed(
    cuts: Cuts,
    log_weight: FloatArray,
    means: FloatArray,
    covariances: FloatArray,
    values: FloatArray,
) -> Law:
    """Means over everything tried, and the spread within and between."""
    weight = np.exp(log_weight - np.max(log_weight))
    weight /= weight.sum()
    mean = weight @ means
    off = means - mean
    covariance = np.einsum("n,nij->ij", weight, covariances + off[:, :, None] * off[:, None, :])
    u_offset, u_gain = np.sqrt(np.diag(covariance))
    scatter, day = weight @ values
    return Law(
        gain=float(mean[1]),
        u_gain=float(u_gain),
        offset_um=float(mean[0]),
        u_offset_um=float(u_offset),
        scatter_um=float(scatter),
        cuts=int(cuts.x.size),
        sessions=int(cuts.session.max()) + 1,
        day_gain=float(day),
        correlation=float(covariance[0, 1] / (u_offset * u_gain)),
        shallowest_um=float(cuts.x.min()),
        deepest_um=float(cuts.x.max()),
    )
