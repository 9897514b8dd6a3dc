"""An uncertainty budget: what each source contributes, and what they come to together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import floor, inf, isfinite
from types import MappingProxyType

import numpy as np
from scipy.special import ndtri, stdtrit

from calibration.passes import FloatArray

Pair = tuple[str, str]
_NONE: Mapping[Pair, float] = MappingProxyType({})


class BudgetError(ValueError):
    """The terms do not make a budget."""


@dataclass(frozen=True, slots=True)
class Term:
    """One source: its standard uncertainty, its sensitivity, its degrees of freedom."""

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = inf

    @property
    def signed(self) -> float:
        """Sensitivity times uncertainty, in the result's unit."""
        return self.sensitivity * self.u

    @property
    def contribution(self) -> float:
        """|c_i| u(x_i), in the result's unit."""
        return abs(self.signed)


@dataclass(frozen=True, slots=True)
class Budget:
    """Terms, the largest share first, and the result.

    shares: of the combined variance, summing to 1; a term that takes away from it, by its
    correlation with others, has a negative one. dof: effective degrees of freedom.
    """

    terms: tuple[Term, ...]
    shares: tuple[float, ...]
    u: float
    dof: float

    @property
    def k95(self) -> float:
        """Coverage factor of 95 %: Student's t, the degrees of freedom cut to a whole number."""
        if not isfinite(self.dof):
            return float(ndtri(0.975))
        return float(stdtrit(max(floor(self.dof), 1), 0.975))

    @property
    def expanded(self) -> float:
        """k95 times u."""
        return self.k95 * self.u

    @property
    def largest(self) -> Term:
        """The term to work on first."""
        return self.terms[0]


def combine(terms: Iterable[Term], correlations: Mapping[Pair, float] = _NONE) -> Budget:
    """Combined standard uncertainty by the law of propagation (JCGM 100:2008, eq. 10 and 13).

    correlations: r of pairs of terms by name; pairs not named are independent.

    The degrees of freedom are Welch's and Satterthwaite's (G.2b), which holds for independent
    terms: those that are correlated are taken together as one, with the least of theirs.
    Raises BudgetError for no terms, a name twice, a negative or missing uncertainty, or a
    correlation outside -1 to 1 or of an unknown term.
    """
    given = tuple(terms)
    signed = np.array([term.signed for term in given])
    _check(given, correlations)
    r = _matrix([term.name for term in given], correlations)
    parts = signed * (r @ signed)
    variance = max(float(parts.sum()), 0.0)
    order = np.argsort(-np.abs(parts), kind="stable")
    shares = parts / variance if variance > 0.0 else np.zeros_like(parts)
    return Budget(
        tuple(given[i] for i in order),
        tuple(float(shares[i]) for i in order),
        float(np.sqrt(variance)),
        _effective_dof(given, parts, {name for pair in correlations for name in pair}),
    )


def _effective_dof(terms: tuple[Term, ...], parts: FloatArray, together: set[str]) -> float:
    groups: dict[str, tuple[float, float]] = {}
    for term, part in zip(terms, parts, strict=True):
        key = "" if term.name in together else term.name
        variance, dof = groups.get(key, (0.0, inf))
        groups[key] = variance + float(part), min(dof, term.dof)
    total = sum(variance for variance, _ in groups.values())
    below = sum(variance**2 / dof for variance, dof in groups.values())
    return total**2 / below if below > 0.0 else inf


def _matrix(names: list[str], correlations: Mapping[Pair, float]) -> FloatArray:
    r = np.eye(len(names))
    for (one, other), value in correlations.items():
        i, j = names.index(one), names.index(other)
        r[i, j] = r[j, i] = value
    return r


def _check(terms: tuple[Term, ...], correlations: Mapping[Pair, float]) -> None:
    names = [term.name for term in terms]
    if not names or len(set(names)) < len(names):
        raise BudgetError(f"found the terms {names}; allowed one or more, each name once")
    for term in terms:
        if not (isfinite(term.u) and term.u >= 0.0 and isfinite(term.sensitivity)):
            raise BudgetError(f"{term.name}: found u {term.u:g}; allowed 0 or more")
        if not term.dof > 0.0:
            raise BudgetError(f"{term.name}: found {term.dof:g} degrees of freedom; allowed over 0")
    for pair, value in correlations.items():
        if not (set(pair) <= set(names) and pair[0] != pair[1] and abs(value) <= 1.0):
            raise BudgetError(f"correlation of {pair}: found {value:g}; allowed -1 to 1, two terms")
