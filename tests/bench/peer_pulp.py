"""The same programme through a general modelling layer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pulp

if TYPE_CHECKING:
    from .plan import Whole


def solved(whole: Whole) -> float:
    """The optimum: the model is written, handed over and solved."""
    model = pulp.LpProblem("plan", pulp.LpMinimize)
    columns = [
        pulp.LpVariable(f"v{k}", low, None if np.isinf(high) else high)
        for k, (low, high) in enumerate(zip(whole.low.tolist(), whole.high.tolist(), strict=True))
    ]
    model += pulp.LpAffineExpression(zip(columns, whole.cost.tolist(), strict=True))
    start, column, value = (
        part.tolist() for part in (whole.rows.indptr, whole.rows.indices, whole.rows.data)
    )
    for row, least in enumerate(whole.least.tolist()):
        entries = range(start[row], start[row + 1])
        terms = pulp.LpAffineExpression([(columns[column[k]], value[k]) for k in entries])
        model += terms >= least
    model.solve(pulp.HiGHS(msg=False))
    return float(pulp.value(model.objective))
