"""What a workshop's other tools and metals say of one it has hardly used."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.after.law import NEW_GAIN, U_NEW_GAIN, Law

#: How far gains of tools and metals of one workshop differ, standard deviations to choose from,
#: believed as a normal of width TOOL_GAIN would have it (own choice).
TOOL_GAINS = np.linspace(0.01, 0.4, 40)
TOOL_GAIN = 0.1


def workshop_gain(others: Sequence[Law]) -> tuple[float, float]:
    """The gain to expect of another tool or metal, and its standard uncertainty.

    Laws scatter about one of the workshop, by how much they say themselves (random effects: each
    spread is weighed by its evidence). With no other law it is what any hand is thought to take.
    """
    gain = np.array([law.gain for law in others])
    known = np.array([np.hypot(law.u_gain, law.day_gain) for law in others])
    variance = known**2 + TOOL_GAINS[:, None] ** 2
    precision = np.sum(1.0 / variance, axis=1) + U_NEW_GAIN**-2.0
    mean = (np.sum(gain / variance, axis=1) + NEW_GAIN * U_NEW_GAIN**-2.0) / precision
    square = np.sum(gain**2 / variance, axis=1) + (NEW_GAIN / U_NEW_GAIN) ** 2
    log_evidence = -0.5 * (
        np.sum(np.log(variance), axis=1) + np.log(precision) + square - mean**2 * precision
    )
    log_evidence -= 0.5 * (TOOL_GAINS / TOOL_GAIN) ** 2
    weight = np.exp(log_evidence - np.max(log_evidence))
    weight /= weight.sum()
    expected = float(weight @ mean)
    own = TOOL_GAINS**2 if gain.size else np.zeros_like(TOOL_GAINS)
    spread = weight @ (1.0 / precision + own + (mean - expected) ** 2)
    return expected, float(np.sqrt(spread))
