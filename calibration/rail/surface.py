"""The rail's error over x and y, for rigs with a cross slide: bow, roll and a curve across."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.cells import CELL_MM, SHORTEST_MM, Cells, cell_middle, even_surface
from calibration.rail.map import OUTSIDE_MM_PER_MM, RailError, numbers, rising

#: Rows nearer together than this tell no roll.
LEAST_ACROSS_MM = 5.0
#: Document keys of the coefficients, in order.
KEYS = ("r_um", "roll_um_per_mm", "curve_um_per_mm2")


@dataclass(frozen=True, slots=True)
class RailSurface:
    """R(x, y) = r(x) + y roll(x) [+ y² curve(x)], each up to a straight line along x.

    x_mm: float[cells]. terms: float[2 or 3, cells]: r in mm, roll in mm per mm, curve in mm per
    mm². covariance: float[cells, terms, terms], of one cell's terms. y_mm: lowest and highest
    row. misfit: chi-square of the rows against the form, over its degrees of freedom; nan where
    none are left.
    """

    x_mm: FloatArray
    terms: FloatArray
    covariance: FloatArray
    y_mm: tuple[float, float]
    misfit: float

    def at(self, x_mm: FloatArray, y_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Error and its standard uncertainty at carriage positions, mm.

        Outside the cells or the rows the nearest value is held, and the uncertainty grows by a
        micrometre for each millimetre: nothing is known there, and that must show.
        """
        x = np.clip(x_mm, self.x_mm[0], self.x_mm[-1])
        y = np.clip(y_mm, *self.y_mm)
        power = _powers(y, len(self.terms))
        value = np.sum(CubicSpline(self.x_mm, self.terms, axis=1)(x) * power, axis=0)
        variance = np.zeros_like(value)
        for i, j in np.ndindex(self.covariance.shape[1:]):
            joint = np.interp(x, self.x_mm, self.covariance[:, i, j])
            variance += power[i] * power[j] * joint
        outside = OUTSIDE_MM_PER_MM * np.hypot(x_mm - x, y_mm - y)
        return np.asarray(value), np.asarray(np.sqrt(np.clip(variance, 0.0, None)) + outside)

    def to_document(self) -> dict[str, Any]:
        """Plain numbers, micrometres."""
        found = {key: (1e3 * term).tolist() for key, term in zip(KEYS, self.terms, strict=False)}
        return {
            "x_mm": self.x_mm.tolist(),
            **found,
            "covariance_um2": (1e6 * self.covariance).tolist(),
            "y_mm": list(self.y_mm),
            "misfit": None if np.isnan(self.misfit) else self.misfit,
        }

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> RailSurface:
        """Raises KeyError for a missing key, ValueError where the lists are no surface."""
        x = rising(document["x_mm"])
        keys = KEYS if KEYS[2] in document else KEYS[:2]
        terms = 1e-3 * np.array([numbers(document[key], x.shape) for key in keys])
        shape = (x.size, len(keys), len(keys))
        covariance = 1e-6 * numbers(document["covariance_um2"], shape)
        low, high = numbers(document["y_mm"], (2,))
        misfit = document["misfit"]
        spread = float("nan") if misfit is None else float(misfit)
        return cls(x, terms, covariance, (float(low), float(high)), spread)


def fit_surface(
    rows: Sequence[tuple[float, Sequence[Profile]]],
    pads: Sequence[Pad],
    straightedge_um: float,
    curved: bool = False,
) -> RailSurface:
    """Error over x and y from rows (y mm, passes) over one straightedge laid at several y.

    Each row has its own height and tilt, so r, roll and curve are each known up to a straight
    line along x. One straightedge's error, `straightedge_um`, is the same in every row: it
    stays in r and falls out of roll and curve. Where the rows fit the form worse than their
    scatter allows, the uncertainty grows with it. Raises RailError for too few rows (2; 4 for a
    curve), rows too close, or a row without a straightedge.
    """
    y = np.array([row for row, _ in rows], dtype=float)
    _check_rows(y, curved)
    seen = _shared([_row(at, profiles, pads) for at, profiles in rows])
    x, z, u = cell_middle(seen[0].number), *_levelled(seen)
    power = _powers(y, 3 if curved else 2)
    covariance = np.linalg.inv(np.einsum("ir,jr,rc->cij", power, power, u**-2.0))
    terms = np.einsum("cij,jr,rc->ic", covariance, power, z / u**2)
    left = (y.size - len(power)) * (x.size - 2)
    off = (z - np.einsum("ic,ir->rc", terms, power)) / u
    misfit = float(np.sum(off**2)) / left if left else float("nan")
    covariance = covariance * max(1.0, misfit if left else 1.0)
    covariance[:, 0, 0] += (1e-3 * straightedge_um) ** 2
    return RailSurface(x, terms, covariance, (float(y.min()), float(y.max())), misfit)


def _powers(y_mm: FloatArray, terms: int) -> FloatArray:
    return np.asarray(np.vander(y_mm, terms, increasing=True).T)


def _check_rows(y_mm: FloatArray, curved: bool) -> None:
    apart = np.unique(np.round(y_mm / LEAST_ACROSS_MM)).size
    needed = 4 if curved else 2
    if y_mm.size < needed or apart < needed:
        raise RailError(
            f"found {min(y_mm.size, apart)} rows of their own; "
            f"{'a curve across' if curved else 'roll'} needs at least {needed}, "
            f"{LEAST_ACROSS_MM:.0f} mm apart; scan the straightedge at more y"
        )


def _row(y_mm: float, profiles: Sequence[Profile], pads: Sequence[Pad]) -> Cells:
    try:
        return even_surface(profiles, pads)
    except RailError as error:
        raise RailError(f"row at y = {y_mm:g} mm: {error}") from error


def _shared(rows: Sequence[Cells]) -> list[Cells]:
    """Every row cut to the cells all of them saw."""
    numbers_ = [row.number for row in rows]
    common = reduce(np.intersect1d, numbers_)
    if common.size * CELL_MM < SHORTEST_MM:
        raise RailError(
            f"the rows share less than {SHORTEST_MM:.0f} mm of rail; "
            "lay the straightedge at the same x in every row"
        )
    return [row.take(np.isin(row.number, common)) for row in rows]


def _levelled(rows: Sequence[Cells]) -> tuple[FloatArray, FloatArray]:
    """Heights without each row's straight line, and their u; float[rows, cells] each."""
    z = [c.z_mm - np.polyval(np.polyfit(c.x_mm, c.z_mm, 1), c.x_mm) for c in rows]
    # a still sensor's scatter can be zero
    return np.array(z), np.maximum(np.array([c.u_mm for c in rows]), 1e-6)
