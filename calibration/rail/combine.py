"""Several methods' rails made one: generalised least squares on common cells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from calibration.passes import FloatArray
from calibration.rail.blind import describe_blind
from calibration.rail.cells import cell_middle, cell_number
from calibration.rail.estimate import (
    UNSEEN_MM,
    RailEstimate,
    estimate,
    orthonormal,
    orthonormal_rank,
    polynomials,
    without,
)
from calibration.rail.map import RailError, RailMap

#: Chance under which two maps do not show the same rail.
RARE = 1e-4
#: Stated uncertainties are themselves in doubt by half (own estimate): maps disagree only where
#: that does not explain it.
SLACK = 1.5
#: Cells may scatter this much more than stated before short shapes count as disagreement.
SCATTER = 2.0
#: Order up to which a shape over the rail is called long: half-waves of a tenth of it.
LONG = 12


@dataclass(frozen=True, slots=True)
class Agreement:
    """One method against all the others together.

    chi2, dof: over every cell both saw, apart from what either is blind to. long_chi2,
    long_dof: the same for shapes over a tenth of the rail and longer. long_p: chance of as much,
    were the stated uncertainties too small by SLACK. apart_um: rms of
    the difference. agrees: no rare long difference, and cells within twice their scatter.
    """

    method: str
    chi2: float
    dof: int
    long_chi2: float
    long_dof: int
    long_p: float
    apart_um: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class CombinedRail:
    """The rail by all methods. odd_ones: methods that disagree; the first is the worst.

    named: whether the worst one is known to be at fault: without it the rest agree.
    """

    estimate: RailEstimate
    agreement: tuple[Agreement, ...]
    odd_ones: tuple[str, ...]
    named: bool

    @property
    def map(self) -> RailMap:
        return self.estimate.map()

    def require_agreement(self) -> None:
        """Raises RailError naming what disagrees, so that nothing is kept."""
        if not self.odd_ones:
            return
        worst = next(one for one in self.agreement if one.method == self.odd_ones[0])
        # in the order given: of two, neither is worse but by rounding
        odd = [one.method for one in self.agreement if one.method in self.odd_ones]
        what = (
            f"{worst.method} disagrees with the rest, which agree"
            if self.named
            else f"{' and '.join(odd)} disagree"
        )
        raise RailError(
            f"{what}: {worst.apart_um:.1f} µm rms apart, chi-square {worst.long_chi2:.0f} for "
            f"{worst.long_dof} long shapes and {worst.chi2:.0f} for {worst.dof} in all; is a map "
            "of another rig among them, or did one scan go wrong? leave it out or scan again"
        )


@dataclass(frozen=True, slots=True)
class _Known:
    """Information of one estimate on the common cells: the free shapes weigh nothing.

    weight, covariance: float[cells, cells], nothing where it did not see; values: float[cells];
    seen: bool[cells]; free: float[k, cells].
    """

    weight: FloatArray
    covariance: FloatArray
    values: FloatArray
    seen: NDArray[np.bool_]
    free: FloatArray


def combine_rail(estimates: Sequence[RailEstimate]) -> CombinedRail:
    """Best linear estimate from independent ones, on the cells that any of them saw.

    Every method's free shapes are nuisances of its own: what it cannot see comes from the
    others, and what none sees stays free in the result. An estimate's values are carried to
    the middles of the cells by its own spline. Raises RailError for none, or for two that
    share no stretch of rail (their lines could not be joined).
    """
    if not estimates:
        raise RailError("nothing to combine; map the rail by one method at least")
    numbers = np.unique(np.concatenate([cell_number(one.x_mm) for one in estimates]))
    x = cell_middle(numbers)
    known = [_on_cells(one, numbers) for one in estimates]
    _check_joined(estimates, known)
    value, covariance, free = _solved(known)
    words = [f"{one.method}: {word}" for one in estimates for word in one.unseen]
    words.append("any of them: " + describe_blind(x, free))
    names = " + ".join(one.method for one in estimates)
    agreement = _agreements(estimates, known) if len(known) > 1 else ()
    odd = sorted((a for a in agreement if not a.agrees), key=lambda a: a.long_p - a.long_chi2)
    return CombinedRail(
        estimate(names, x, value, covariance, free, words),
        agreement,
        tuple(one.method for one in odd),
        bool(odd) and _rest_agrees(estimates, known, odd[0].method),
    )


def _on_cells(one: RailEstimate, numbers: NDArray[np.int_]) -> _Known:
    """Inverse covariance outside the free shapes, spread over the common cells."""
    place = np.searchsorted(numbers, cell_number(one.x_mm))
    scale = float(np.mean(np.diag(one.covariance_mm2)))
    blind = one.free.T @ one.free
    inverse = np.linalg.inv(one.covariance_mm2 + scale * blind) - blind / scale
    weight, covariance = np.zeros((2, numbers.size, numbers.size))
    weight[np.ix_(place, place)] = 0.5 * (inverse + inverse.T)
    covariance[np.ix_(place, place)] = one.covariance_mm2
    values = np.zeros(numbers.size)
    values[place] = one.map().at(cell_middle(numbers[place]))[0]
    free = np.zeros((len(one.free), numbers.size))
    free[:, place] = one.free
    seen = np.zeros(numbers.size, dtype=bool)
    seen[place] = True
    return _Known(weight, covariance, values, seen, free)


def _solved(known: Sequence[_Known]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Values, covariance and free shapes. Free is what the data know worse than UNSEEN_MM rms."""
    weight = np.sum([one.weight for one in known], axis=0)
    right = np.sum([one.weight @ one.values for one in known], axis=0)
    values, modes = np.linalg.eigh(weight)
    told = values > 1.0 / (values.size * UNSEEN_MM**2)
    seen = modes[:, told]
    covariance = (seen / values[told]) @ seen.T
    return covariance @ right, covariance, modes[:, ~told].T


def _check_joined(estimates: Sequence[RailEstimate], known: Sequence[_Known]) -> None:
    """Every estimate must be reached from the first over stretches of rail."""
    joined, reached = {0}, known[0].seen.copy()
    for _ in known:
        for k, one in enumerate(known):
            if np.count_nonzero(reached & one.seen) > 2 * LONG:
                joined.add(k)
                reached |= one.seen
    apart = [one.method for k, one in enumerate(estimates) if k not in joined]
    if apart:
        raise RailError(
            f"{apart[0]} shares no stretch of rail with the others; maps must overlap by "
            f"{2 * LONG} cells or more to be joined"
        )


def _agreements(
    estimates: Sequence[RailEstimate], known: Sequence[_Known]
) -> tuple[Agreement, ...]:
    return tuple(
        _agreement(one.method, known[k], [*known[:k], *known[k + 1 :]])
        for k, one in enumerate(estimates)
    )


def _agreement(method: str, one: _Known, others: Sequence[_Known]) -> Agreement:
    """Chi-square of the difference with both sides' uncertainty, on the cells both saw."""
    value, covariance, free = _together(others)
    both = one.seen & np.any([other.seen for other in others], axis=0)
    blind = orthonormal_rank(np.vstack([one.free, free])[:, both])
    # a difference d of covariance V apart from the blind shapes: d' (V + blind)^-1 d - blind part
    joint = (one.covariance + covariance)[np.ix_(both, both)]
    far = 1e3 * float(np.trace(joint)) * blind.T @ blind
    off = without((one.values - value)[both], blind)
    inverse = np.linalg.inv(joint + far)
    whole, dof = float(off @ inverse @ off), off.size - len(blind)
    x = np.linspace(-1.0, 1.0, off.size)
    shapes = without(orthonormal(polynomials(x, LONG)), blind)
    shapes = orthonormal_rank(shapes)
    information = shapes @ inverse @ shapes.T
    right = shapes @ inverse @ off
    long_chi2 = float(right @ np.linalg.solve(information, right))
    long_p = float(chdtrc(len(shapes), long_chi2 / SLACK**2))
    agrees = long_p > RARE and whole < SCATTER * dof + 5.0 * np.sqrt(2.0 * dof)
    apart = 1e3 * float(np.sqrt(np.mean(off**2)))
    return Agreement(method, whole, dof, long_chi2, len(shapes), long_p, apart, bool(agrees))


def _together(known: Sequence[_Known]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Of one there is nothing to solve."""
    if len(known) == 1:
        return known[0].values, known[0].covariance, known[0].free
    return _solved(known)


def _rest_agrees(estimates: Sequence[RailEstimate], known: Sequence[_Known], worst: str) -> bool:
    """With two left nobody can say which is wrong; with more, whether the rest agree."""
    rest = [k for k, one in enumerate(estimates) if one.method != worst]
    if len(rest) < 2:
        return False
    left = _agreements([estimates[k] for k in rest], [known[k] for k in rest])
    return all(one.agrees for one in left)
