"""What a sum over tops along one line, as a chord's depth is, owes to each term of its tops."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.rail import RailAlong
from analysis.neck.terms import Terms

#: One factor nobody knows for the whole scan: the tip climbs across or does not, the spot is as
#: wide as it is.
ONE_FACTOR = ("tip", "spot")


def parts_of_sum(
    terms: Terms, x_mm: FloatArray, weights: FloatArray, rail: RailAlong | None
) -> dict[str, float]:
    """Standard uncertainty of sum(weights top) by term, mm.

    terms, x_mm, weights: float[tops], of one line. Noise, crown and wear err for each top by
    itself, and so are the rest taken but two: what comes of one factor adds up with its sign,
    and the rail's cells err together as its map says. Without the joint error of a map (rail
    None) the rail's part counts as each top's own.
    """

    def one(name: str, part: FloatArray) -> float:
        if name == "rail" and rail is not None:
            return rail.u_of_sum_mm(x_mm, weights)
        if name in ONE_FACTOR:
            return abs(float(weights @ part))
        return float(np.linalg.norm(weights * part))

    return {name: one(name, part) for name, part in terms.parts.items()}


def root_sum(parts: Mapping[str, float]) -> float:
    """What the parts make together."""
    return float(np.sqrt(sum(part**2 for part in parts.values())))
