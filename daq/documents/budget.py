"""An uncertainty budget as a document."""

from __future__ import annotations

from math import isfinite
from typing import Any

from analysis.neck.budgets import Budgets
from calibration.uncertainty.budget import Budget
from daq.documents.numbers import rounded


def budget_document(budgets: Budgets) -> dict[str, Any]:
    """Of a typical fret top and a typical relief, largest terms first, micrometres.

    A term's `u_um` is what it puts into the result. None where nothing is known.
    """
    return {
        "top": _budget(budgets.top),
        "relief": _budget(budgets.relief),
        "u_datum_um": rounded(1e3 * budgets.u_datum_mm, 3),
    }


def _budget(budget: Budget | None) -> dict[str, Any] | None:
    if budget is None:
        return None
    return {
        "u_um": rounded(1e3 * budget.u, 3),
        "dof": rounded(budget.dof, 1) if isfinite(budget.dof) else None,
        "k95": rounded(budget.k95, 3),
        "expanded_um": rounded(1e3 * budget.expanded, 3),
        "largest": budget.largest.name,
        "terms": [
            {
                "name": term.name,
                "u_um": rounded(1e3 * term.contribution, 4),
                "share_percent": rounded(100.0 * share, 2),
                "dof": rounded(term.dof, 1) if isfinite(term.dof) else None,
            }
            for term, share in zip(budget.terms, budget.shares, strict=True)
        ],
    }
