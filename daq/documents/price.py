"""The metal that uncertainty costs, as a document."""

from __future__ import annotations

from typing import Any

from analysis.plan.price import Saving, UncertaintyPrice
from daq.documents.numbers import rounded, u_mm, um
from daq.documents.sensitivity import NO_PLAN


def price_document(price: UncertaintyPrice) -> dict[str, Any]:
    """saves_um: null where there is no plan before or after; then `feasible` says whether there
    would be one."""
    return {
        "metal_um": um(1e3 * price.metal_mm) if price.feasible else None,
        "feasible": price.feasible,
        "u_string_height_mm": u_mm(price.u_height_mm),
        "savings": [_saving(one, price.feasible) for one in price.savings],
    }


def _saving(one: Saving, feasible: bool) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "what": one.what,
        "feasible": one.feasible,
        "saves_um": um(1e3 * one.saves_mm),
    }
    if rounded(one.u_mm, 5) is not None:
        entry["u_string_height_mm"] = u_mm(one.u_mm)
    return entry if feasible and one.feasible else {**entry, "status": NO_PLAN}
