"""The strung neck at the end against what was predicted of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.movement.changes import ALIKE
from analysis.movement.movement import fit_movement
from analysis.neck.relief import reliefs_by_terms
from analysis.neck.shape import Shape
from analysis.rod.rod import Rod

GUARD = 2.0


@dataclass(frozen=True, slots=True)
class StringRelief:
    """One string's relief, mm. off_mm: measured less predicted.

    verdict: "as predicted" where twice its uncertainty covers off_mm, else "more" or "less".
    """

    string: int
    predicted_mm: float
    u_predicted_mm: float
    measured_mm: float
    u_measured_mm: float
    off_mm: float
    u_off_mm: float
    verdict: str


@dataclass(frozen=True, slots=True)
class StrungCheck:
    """relief: a string each. planned_relief_mm: what the rod was to add; more_mm, u_more_mm:
    what it did beyond that, or the neck by itself, the mean over the strings.

    off_um, u_off_um: [frets, strings], measured less predicted, all that a neck's bending can do
    taken off. odd: bool[frets, strings], what it cannot.
    """

    relief: tuple[StringRelief, ...]
    planned_relief_mm: float
    more_mm: float
    u_more_mm: float
    off_um: FloatArray
    u_off_um: FloatArray
    odd: NDArray[np.bool_]

    @property
    def rms_um(self) -> float:
        """Of the tops that are not odd."""
        return float(np.sqrt(np.nanmean(self.off_um[~self.odd] ** 2)))

    @property
    def expected_rms_um(self) -> float:
        """What their uncertainties make of it."""
        told = np.isfinite(self.off_um) & ~self.odd
        return float(np.sqrt(np.mean(self.u_off_um[told] ** 2)))


def strung_check(
    then: Shape,
    measured: Shape,
    removed_mm: FloatArray,
    u_removed_mm: FloatArray,
    relief_change_mm: float,
    rod: Rod,
    instrument: Instrument,
) -> StrungCheck:
    """Predicted: the strung tops as they were, less what came off, moved as the rod was to.

    then, measured: strung shapes before and after. removed_mm, u_removed_mm: [frets, strings],
    what came off, or what was planned where that is not known. relief_change_mm: what the rod
    was to add. What a bending neck can do of the difference is the rod's, or the neck's own with
    time and weather; tops that no bending explains are odd. Raises ValueError where too few tops
    are known in both.
    """
    predicted = then.top_mm - removed_mm + relief_change_mm * rod.cases[0].tops
    u = _u_apart_mm(then, measured, u_removed_mm)
    off = measured.top_mm - predicted
    shaped = off - _as_a_rod_may(then, off, u, rod)
    field = fit_movement(then.x_mm, then.y_mm, shaped, u, joint_mm(instrument))
    bent, _ = field.at(then.x_mm, then.y_mm)
    plain = _reliefs(then, measured, predicted, u_removed_mm, instrument.body_joint_fret)
    doubt = abs(relief_change_mm) * rod.u_mm_per_turn / rod.mm_per_turn
    return StrungCheck(
        tuple(_with_rod(one, doubt) for one in plain),
        relief_change_mm,
        float(np.nanmean([one.off_mm for one in plain])),
        # what errs in a strung shape bends all strings alike: their mean is known no better
        float(np.nanmean([one.u_off_mm for one in plain])),
        1e3 * (shaped - bent),
        1e3 * u,
        field.odd,
    )


def _u_apart_mm(then: Shape, measured: Shape, u_removed_mm: FloatArray) -> FloatArray:
    """Of the difference: what both scans get wrong alike falls out."""
    own = [shape.terms.without(*ALIKE).u_mm for shape in (then, measured)]
    return np.asarray(np.sqrt(own[0] ** 2 + own[1] ** 2 + u_removed_mm**2))


def _as_a_rod_may(then: Shape, off: FloatArray, u: FloatArray, rod: Rod) -> FloatArray:
    """As much of a difference as the rod acting otherwise can make, least squares beside a plane.

    Whether the body follows the neck turns the tops at the joint, which is no smooth bending.
    """
    known = np.isfinite(off) & np.isfinite(u)
    ways = np.stack([case.tops for case in rod.cases], axis=-1)
    plane = np.stack([np.ones_like(off), then.x_mm / 100.0, then.y_mm / 10.0], axis=-1)
    rows = np.concatenate([plane, ways], axis=-1)[known] / u[known][:, None]
    # the ways differ in two things at most: of equal answers the least
    found, *_ = np.linalg.lstsq(rows, off[known] / u[known], rcond=1e-9)
    return np.asarray(ways @ found[3:])


def _reliefs(
    then: Shape, measured: Shape, predicted: FloatArray, u_removed: FloatArray, joint: int
) -> tuple[StringRelief, ...]:
    terms = then.terms.also(removed=u_removed)
    expected = reliefs_by_terms(then.x_mm, predicted, terms, joint, then.rail)
    return tuple(
        _string_relief(string, one.relief_mm, one.u_relief_mm, found.relief_mm, found.u_relief_mm)
        for string, (one, found) in enumerate(zip(expected, measured.relief, strict=True), start=1)
    )


def _string_relief(
    string: int, predicted: float, u_predicted: float, measured: float, u_measured: float
) -> StringRelief:
    off, u_off = measured - predicted, float(np.hypot(u_predicted, u_measured))
    if not np.isfinite(off) or abs(off) <= GUARD * u_off:
        verdict = "as predicted"
    else:
        verdict = "more" if off > 0 else "less"
    return StringRelief(string, predicted, u_predicted, measured, u_measured, off, u_off, verdict)


def _with_rod(one: StringRelief, doubt_mm: float) -> StringRelief:
    """With what a rod may do more or less than it is taken to."""
    u_predicted = float(np.hypot(one.u_predicted_mm, doubt_mm))
    return _string_relief(
        one.string, one.predicted_mm, u_predicted, one.measured_mm, one.u_measured_mm
    )
