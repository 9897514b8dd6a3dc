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


def shape_budgets(shape: Shape, tops: Iterable[Term] = (), relief: Iterable[Term] = ()) -> Budgets:
    """Of a neck in one state; tops, relief: what repeated scans found besides."""
    return Budgets(
        top_budget(shape.terms, tops),
        relief_budget(shape.relief, relief),
        shape.u_datum_mm,
    )


def top_budget(terms: Terms, measured: Iterable[Term] = ()) -> Budget | None:
    """Every term at its median over the fret tops, and what repeated scans showed besides.

    The terms are those that u_top_mm was made of. None where no top is known.
    """
    known = np.isfinite(terms.u_mm)
    return _budget({name: np.abs(part[known]) for name, part in terms.parts.items()}, measured)


def relief_budget(reliefs: Sequence[Relief], measured: Iterable[Term] = ()) -> Budget | None:
    """Every term at its median over the strings, or lanes, that show a relief.

    The terms are those that u_relief_mm was made of. None where no relief is known.
    """
    known = [relief.parts for relief in reliefs if relief.at_fret > 0]
    names = dict.fromkeys(name for parts in known for name in parts)
    return _budget(
        {name: np.array([parts.get(name, 0.0) for parts in known]) for name in names}, measured
    )


def _budget(parts: dict[str, FloatArray], measured: Iterable[Term]) -> Budget | None:
    if not parts or next(iter(parts.values())).size == 0:
        return None
    typical = [Term(name, float(np.median(part))) for name, part in parts.items()]
    present = [term for term in [*typical, *measured] if term.u > 0.0]
    return combine(present) if present else None
