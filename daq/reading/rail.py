"""The rail's map as it is kept, and back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.rail.across import about_line
from calibration.rail.combine import Agreement
from calibration.rail.estimate import RailEstimate
from calibration.rail.map import Rail, RailMap
from calibration.rail.sums import RailSums
from calibration.rail.surface import RailSurface
from daq.reading.found import Document
from daq.reading.rail_kept import (
    PLACE_DIGITS,
    KeptEstimate,
    estimate_document,
    estimate_of_map,
    kept_document,
    kept_of,
    packed,
    sums_of,
    unpacked,
)

#: Rows of a surface that are packed.
ACROSS = ("r_um", "roll_um_per_mm", "curve_um_per_mm2")


@dataclass(frozen=True, slots=True)
class RailResult:
    """Everything a rail document holds.

    line: the rail at y = 0 by all estimates together. across: a straightedge laid at several y;
    its own line is one of the estimates. agreement: empty where there is one estimate.
    """

    line: RailEstimate
    kept: tuple[KeptEstimate, ...]
    agreement: tuple[Agreement, ...]
    across: RailSurface | None

    @property
    def rail(self) -> Rail:
        """What readings are corrected by."""
        line = self.line.map()
        return line if self.across is None else about_line(self.across, line)

    @property
    def celsius(self) -> float | None:
        """Mean of the estimates' temperatures; None where nobody knows any."""
        told = [one.celsius for one in self.kept if one.celsius is not None]
        return round(float(np.mean(told)), 2) if told else None


def rail_document(result: RailResult, rig: str, made: str, about: Document) -> dict[str, object]:
    """As it is kept, micrometres. The line in use stands in it as x_mm, r_um and u_um."""
    line = result.line.map()
    one = len(result.kept) == 1
    return {
        "kind": "rail",
        "rig": rig,
        "made": made,
        **about,
        "method": result.line.method,
        "celsius": result.celsius,
        "unseen": list(result.line.unseen),
        "agreement": [_agreement_document(each) for each in result.agreement],
        "across": None if result.across is None else _across_document(result.across),
        "estimates": [kept_document(each) for each in result.kept],
        "together": None if one else estimate_document(result.line),
        "x_mm": np.round(line.x_mm, 4).tolist(),
        "r_um": np.round(1e3 * line.r_mm, 4).tolist(),
        "u_um": np.round(1e3 * line.u_mm, 4).tolist(),
    }


def _agreement_document(one: Agreement) -> dict[str, object]:
    return {
        "method": one.method,
        "apart_um": round(one.apart_um, 3),
        "chi2": round(one.chi2, 1),
        "dof": one.dof,
        "long_chi2": round(one.long_chi2, 2),
        "long_dof": one.long_dof,
    }


def _across_document(across: RailSurface) -> dict[str, object]:
    plain = across.to_document()
    rows = {key: packed(plain[key]) for key in ACROSS if key in plain}
    size = across.covariance.shape[1]
    joint = np.reshape(plain["covariance_um2"], (-1, size * size)).T
    return {
        **plain,
        "x_mm": packed(plain["x_mm"], PLACE_DIGITS),
        **rows,
        "covariance_um2": [packed(row) for row in joint.tolist()],
    }


def rail_of(document: Document) -> Rail:
    """What a document describes. Raises KeyError or ValueError where it describes none."""
    line, across = line_of(document), across_of(document)
    celsius_of(document)
    return line if across is None else about_line(across, line)


def line_of(document: Document) -> RailMap:
    """The line at y = 0. Raises KeyError or ValueError where there is none."""
    return RailMap.from_document(document)


def across_of(document: Document) -> RailSurface | None:
    """The surface a document holds. Raises KeyError or ValueError where it is damaged."""
    stored = document.get("across")
    if stored is None:
        return None
    rows = {key: unpacked(stored[key]) for key in ("x_mm", *ACROSS) if key in stored}
    joint = np.array([unpacked(row) for row in stored["covariance_um2"]])
    size = round(len(joint) ** 0.5)
    covariance = joint.T.reshape(-1, size, size)
    return RailSurface.from_document({**stored, **rows, "covariance_um2": covariance})


def celsius_of(document: Document) -> float | None:
    """How warm it was; None where nobody knows. Raises ValueError for what is no number."""
    celsius = document.get("celsius")
    return None if celsius is None else float(celsius)


def kept_estimates(document: Document) -> tuple[KeptEstimate, ...]:
    """What the map was made of. Raises KeyError or ValueError where the document is damaged."""
    if "estimates" not in document:
        return (estimate_of_map(line_of(document), document),)
    return tuple(kept_of(one) for one in document["estimates"])


def line_sums_of(document: Document) -> RailSums:
    """How the line's cells err together, for the uncertainty of chords and reliefs.

    Raises KeyError or ValueError where the document is damaged.
    """
    if "estimates" not in document:
        return RailSums.of(kept_estimates(document)[0].estimate)
    return sums_of(document.get("together") or document["estimates"][0])


def method_of(document: Document) -> str:
    """By what it was mapped: straightedge + strings."""
    return str(document.get("method", document.get("reference", "straightedge")))


def made_words(document: Document) -> str:
    """By what and when: straightedge of 2026-06-01."""
    return f"{method_of(document)} of {str(document.get('made', ''))[:10]}"
