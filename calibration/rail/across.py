"""A rail known over x and y, and a better known line along its middle: one from both."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.interpolate import CubicSpline

from calibration.rail.estimate import (
    RailEstimate,
    drift_covariance,
    estimate,
    independent,
    long_covariance,
    polynomials,
)
from calibration.rail.map import OUTSIDE_MM_PER_MM, RailMap
from calibration.rail.surface import RailSurface


def line_estimate(surface: RailSurface, straightedge_um: float) -> RailEstimate:
    """The surface's line at y = 0, to combine with other methods.

    straightedge_um: as given to `fit_surface`; it is bent, so it errs along the whole line.
    """
    own = np.clip(surface.covariance[:, 0, 0] - (1e-3 * straightedge_um) ** 2, 0.0, None)
    x = surface.x_mm
    edge = long_covariance(x, 1e-3 * straightedge_um)
    joint = independent(np.sqrt(own)) + drift_covariance(x) + edge
    words = (
        "the straightedge's own error, which stands in the rail: "
        f"{straightedge_um:g} µm of it are in the uncertainty",
        "a straight line: height and tilt of the straightedge on the rig",
        "an even twist of the rail along its length: the straightedge was laid anew at every y",
        "the twist of a plate wide enough for every row, if one was laid: it stands in the roll",
    )
    return estimate("straightedge", x, surface.terms[0], joint, polynomials(x, 1), words)


def about_line(surface: RailSurface, line: RailMap) -> RailSurface:
    """The surface's roll and curve about another line at y = 0, at that line's cells.

    The line's own error is taken as independent of the roll's. Beyond the surface the roll is
    held, and at the outermost row it is worth what `OUTSIDE_MM_PER_MM` says.
    """
    inside = np.clip(line.x_mm, surface.x_mm[0], surface.x_mm[-1])
    terms = CubicSpline(surface.x_mm, surface.terms, axis=1)(inside)
    terms[0] = line.r_mm
    flat = surface.covariance.reshape(surface.x_mm.size, -1)
    joint = np.column_stack([np.interp(inside, surface.x_mm, column) for column in flat.T])
    covariance = joint.reshape(line.x_mm.size, *surface.covariance.shape[1:])
    covariance[:, 0, :] = covariance[:, :, 0] = 0.0
    covariance[:, 0, 0] = line.u_mm**2
    widest = max(abs(surface.y_mm[0]), abs(surface.y_mm[1]))
    outside = OUTSIDE_MM_PER_MM * np.abs(line.x_mm - inside) / widest
    covariance[:, 1, 1] += outside**2
    return RailSurface(line.x_mm, terms, covariance, surface.y_mm, surface.misfit)


def across_only(surface: RailSurface) -> RailSurface:
    """Only what changes across: nothing at y = 0, for lanes that are to tell the line there."""
    terms, covariance = surface.terms.copy(), surface.covariance.copy()
    terms[0] = 0.0
    covariance[:, 0, :] = covariance[:, :, 0] = 0.0
    return replace(surface, terms=terms, covariance=covariance)
