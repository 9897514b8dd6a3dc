"""The rail from the instrument's own taut strings, for a sensor that does not touch them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.passes import FloatArray, Pad
from calibration.profile import Profile
from calibration.rail.cells import Cells, even_surface
from calibration.rail.combine import combine_rail
from calibration.rail.estimate import (
    RailEstimate,
    drift_covariance,
    estimate,
    independent,
    long_covariance,
    polynomials,
    short_covariance,
)
from calibration.rail.map import RailError

#: Standard gravity (3rd CGPM, 1901), m/s².
GRAVITY_M_S2 = 9.80665
#: A string's stiffness holds it off its ideal line for a few millimetres at each end.
STIFF_MM = 8.0
#: Its thickness varies over lengths like this one, and as much over all of it (own estimate).
THICKNESS_MM = 20.0


@dataclass(frozen=True, slots=True)
class TautString:
    """A string at pitch. nut_mm, saddle_mm: its ends, carriage mm (nut_mm < saddle_mm).

    mass_kg_per_m, tension_n: what its sag is computed from. u_sag_share: standard uncertainty
    of the sag as a share of it, from mass and tension together.
    """

    number: int
    nut_mm: float
    saddle_mm: float
    mass_kg_per_m: float
    tension_n: float
    u_sag_share: float = 0.05

    @property
    def length_mm(self) -> float:
        return self.saddle_mm - self.nut_mm

    @property
    def weight_n_per_m(self) -> float:
        return self.mass_kg_per_m * GRAVITY_M_S2

    def sag_mm(self, x_mm: FloatArray) -> FloatArray:
        """Height against its chord, down is negative: -w s (l - s) / (2 T), w weight per length.

        At the middle -w l² / (8 T). The parabola of a shallow catenary (Hooke, Huygens; any
        statics textbook): dz/ds² = w / T with both ends at 0. Lengths in m inside.
        """
        s, left = 1e-3 * (x_mm - self.nut_mm), 1e-3 * (self.saddle_mm - x_mm)
        return np.asarray(-1e3 * self.weight_n_per_m * s * left / (2.0 * self.tension_n))


def fit_strings(
    lanes: Sequence[tuple[TautString, Sequence[Profile]]],
    pads: Sequence[Pad],
    thickness_um: float,
) -> RailEstimate:
    """The rail from passes along one or more strings at pitch, over their upper sides.

    thickness_um: standard uncertainty of the upper side's straightness through the string's
    changing thickness; each string errs by itself, so several average. Blind to a straight
    line. Raises RailError where a lane shows no even surface, or a string makes no sense.
    """
    if not lanes:
        raise RailError("no lane along a string; scan at least one string at pitch")
    found = [_along(string, profiles, pads, thickness_um) for string, profiles in lanes]
    if len(found) == 1:
        return found[0]
    together = combine_rail(found)
    together.require_agreement()
    return replace(
        together.estimate, method="strings", unseen=_words([s for s, _ in lanes], thickness_um)
    )


def _along(
    string: TautString, profiles: Sequence[Profile], pads: Sequence[Pad], thickness_um: float
) -> RailEstimate:
    _check(string)
    cells = _clear_of_ends(_seen(string, profiles, pads), string)
    x, sag = cells.x_mm, string.sag_mm(cells.x_mm)
    wrong_sag = string.u_sag_share * sag
    joint = (
        independent(cells.u_mm)
        + drift_covariance(x)
        + _thickness(x, 1e-3 * thickness_um)
        + np.outer(wrong_sag, wrong_sag)
    )
    words = _words([string], thickness_um)
    return estimate(f"string {string.number}", x, cells.z_mm - sag, joint, polynomials(x, 1), words)


def _words(strings: Sequence[TautString], thickness_um: float) -> tuple[str, ...]:
    """What no lane along these strings can tell."""
    numbers = ", ".join(str(string.number) for string in strings)
    sags = [
        1e3 * string.weight_n_per_m * string.length_mm**2 / 8e3 / string.tension_n
        for string in strings
    ]
    return (
        f"how evenly thick string {numbers} is: {thickness_um:g} µm of each are in the "
        f"uncertainty; a weight sag of up to {max(sags):.1f} µm was taken off",
        "a straight line: the string's own height and slope, and what the cross slide adds "
        "evenly where the lane follows a fan",
    )


def _thickness(x_mm: FloatArray, u_mm: float) -> FloatArray:
    """Half the variance over the whole length (a worn or stretched string), half over short."""
    half = u_mm / np.sqrt(2.0)
    return long_covariance(x_mm, half) + short_covariance(x_mm, half, THICKNESS_MM)


def _check(string: TautString) -> None:
    for what, value in (("mass", string.mass_kg_per_m), ("tension", string.tension_n)):
        if not value > 0.0:
            raise RailError(f"string {string.number}: {what}: found {value:g}; allowed: over 0")
    if not string.saddle_mm > string.nut_mm:
        raise RailError(
            f"string {string.number}: found its nut at {string.nut_mm:g} mm and its saddle at "
            f"{string.saddle_mm:g} mm; the saddle must lie beyond the nut"
        )


def _seen(string: TautString, profiles: Sequence[Profile], pads: Sequence[Pad]) -> Cells:
    try:
        return even_surface(profiles, pads)
    except RailError as error:
        why = str(error).replace("straightedge", "string")
        raise RailError(f"string {string.number}: {why}") from error


def _clear_of_ends(cells: Cells, string: TautString) -> Cells:
    inside = (cells.x_mm > string.nut_mm + STIFF_MM) & (cells.x_mm < string.saddle_mm - STIFF_MM)
    if np.count_nonzero(inside) < 0.5 * inside.size:
        raise RailError(
            f"string {string.number}: most readings lie outside {string.nut_mm:g} to "
            f"{string.saddle_mm:g} mm; check where nut and saddle stand on the rail"
        )
    return cells.take(inside)
