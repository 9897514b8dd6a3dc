"""A plan weighed, as keys of its document."""

from __future__ import annotations

from typing import Any

from analysis.plan.weighed import Weighed
from daq.documents.life import life_document
from daq.documents.price import price_document
from daq.documents.sensitivity import sensitivity_document


def weighed_document(weighed: Weighed) -> dict[str, Any]:
    """sensitivity, uncertainty_cost, life."""
    return {
        "sensitivity": sensitivity_document(weighed.sensitivity),
        "uncertainty_cost": price_document(weighed.price),
        "life": life_document(weighed.life),
    }
