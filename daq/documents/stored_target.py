"""What a stored plan was asked for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.instrument import Instrument
from analysis.plan.target import Target
from daq.files.target import parse_target
from daq.workshop.store import json_text


def stored_target(document: Mapping[str, Any], instrument: Instrument) -> Target:
    """Of a plan from before it was kept: what was to stay as it is. Raises InputError."""
    if "target" not in document:
        return Target(frozenset(document["kept"]))
    _, target = parse_target(json_text(document["target"]), "stored plan: target", instrument)
    return target
