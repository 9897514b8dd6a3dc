"""The rail's own straightness error, from a scanned straightedge."""

from __future__ import annotations

from collections.abc import Sequence

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.cells import even_surface
from calibration.rail.estimate import (
    RailEstimate,
    drift_covariance,
    estimate,
    independent,
    long_covariance,
    polynomials,
)


def estimate_rail(
    profiles: Sequence[Profile], pads: Sequence[Pad], straightedge_um: float
) -> RailEstimate:
    """The rail's error from passes over a straightedge, corrected for drift and lag but not rail.

    The reading over a perfect straightedge is the rail's error and a straight line, to which this
    is blind. The straightedge's own error cannot be told from the rail's by this scan;
    `straightedge_um`, its standard uncertainty, stands in the estimate's.

    Raises RailError where no even surface at least 100 mm long is found between the pads.
    """
    cells = even_surface(profiles, pads)
    joint = (
        independent(cells.u_mm)
        + drift_covariance(cells.x_mm)
        + long_covariance(cells.x_mm, 1e-3 * straightedge_um)
    )
    words = (
        "the straightedge's own error, which stands in the rail: "
        f"{straightedge_um:g} µm of it are in the uncertainty",
        "a straight line: height and tilt of the straightedge on the rig",
    )
    free = polynomials(cells.x_mm, 1)
    return estimate("straightedge", cells.x_mm, cells.z_mm, joint, free, words)
