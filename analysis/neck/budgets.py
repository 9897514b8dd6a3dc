"""The uncertainty budgets of a typical fret top and of a typical relief."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from analysis.neck.relief import Relief
from analysis.neck.shape import Shape
from analysis.neck.terms import Terms
from calibration.uncertainty.budget import Budget, Term, combine


@dataclass(frozen=True, slots=True)
class Budgets:
    """Of a typical top and a typical relief, None where none is known.

    u_datum_mm: of the datum plane's height at a typical top, which is in neither: nothing that
    compares tops with one another depends on it.
    """

    top: Budget | None
    relief: Budget | None
    u_datum_mm: float


def shape_budgets(
    shape: Shape, joint: int, tops: Iterable[Term] = (), relief: Iterable[Term] = ()
) -> Budgets:
    """Of a neck in one state; tops, relief: what repeated scans found besides."""
    return Budgets(
        top_budget(shape.terms, tops),
        relief_budget(shape.x_mm, shape.terms, shape.relief, joint, relief),
        shape.u_datum_mm,
    )


def top_budget(terms: Terms, measured: Iterable[Term] = ()) -> Budget | None:
    """Every term at its median over the fret tops, and what repeated scans showed besides.

    The terms are those that u_top_mm was made of. None where no top is known.
    """
    known = np.isfinite(terms.u_mm)
    return _budget({name: part[known] for name, part in terms.parts.items()}, measured)


def relief_budget(
    x_mm: FloatArray,
    terms: Terms,
    reliefs: Sequence[Relief],
    joint: int,
    measured: Iterable[Term] = (),
) -> Budget | None:
    """Every term at its median over the strings, or lanes; x_mm: [frets, strings].

    Relief hangs on three tops: the deepest, and the chord's ends by their share of it. They
    are taken as independent, as its u_relief_mm has it: what they share falls out of it.
    None where no relief is known.
    """
    chords = [
        _chord(x_mm[:, s], relief.at_fret, joint, s)
        for s, relief in enumerate(reliefs)
        if relief.at_fret > 0
    ]
    parts = {
        name: np.array([np.linalg.norm(weights * part[rows, s]) for s, rows, weights in chords])
        for name, part in terms.parts.items()
    }
    return _budget(parts, measured)


def _chord(x: FloatArray, at_fret: int, joint: int, s: int) -> tuple[int, list[int], FloatArray]:
    """(string, rows, weights) of fret 1, the joint's and the deepest in the depth."""
    share = (x[at_fret - 1] - x[0]) / (x[joint - 1] - x[0])
    return s, [0, joint - 1, at_fret - 1], np.array([1.0 - share, share, -1.0])


def _budget(parts: dict[str, FloatArray], measured: Iterable[Term]) -> Budget | None:
    if not parts or next(iter(parts.values())).size == 0:
        return None
    typical = [Term(name, float(np.median(part))) for name, part in parts.items()]
    present = [term for term in [*typical, *measured] if term.u > 0.0]
    return combine(present) if present else None
