"""What a scan's own copies of the rig's and the instrument's file say, read without judging them.

An older program may have written them, or a newer one: what cannot be understood is not known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import yaml


@dataclass(frozen=True, slots=True)
class RigFacts:
    """Of a rig file's text, which an older program may have written: None where it does not say.

    pads_mm: from, to, in carriage millimetres.
    """

    name: str | None
    mm_per_count: float
    x_mm_per_count: float
    pads_mm: tuple[tuple[float, float], ...]


@lru_cache(maxsize=256)
def rig_facts(text: str) -> RigFacts:
    """What is told of the rig, as far as its file can be understood."""
    rig = _group(text)
    carriage, sensor = (_inner(rig, name) for name in ("carriage", "sensor"))
    pads = rig.get("pads")
    ends = [(_number(_inner({"": pad}, ""), "from_mm"), _number(_inner({"": pad}, ""), "to_mm"))
            for pad in (pads if isinstance(pads, list) else [])]  # fmt: skip
    return RigFacts(
        _words(rig, "name"),
        _number(sensor, "mm_per_count"),
        _number(carriage, "mm_per_count"),
        tuple((low, high) for low, high in ends if high > low),
    )


@lru_cache(maxsize=256)
def instrument_facts(text: str | None) -> tuple[str | None, int | None, int | None]:
    """Name, strings and frets, as far as the instrument's file can be understood."""
    it = _group(text or "")
    strings, frets = it.get("strings"), it.get("frets")
    return (
        _words(it, "name"),
        len(strings) if isinstance(strings, list) else None,
        frets if isinstance(frets, int) else None,
    )


def _group(text: str) -> Mapping[str, Any]:
    try:
        group = yaml.load(text, Loader=_LOADER)
    except (yaml.YAMLError, ValueError, RecursionError):
        return {}
    return group if isinstance(group, dict) else {}


#: The same language; the compiled reader where the library was built with it.
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def _inner(group: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    inner = group.get(name)
    return inner if isinstance(inner, dict) else {}


def _words(group: Mapping[str, Any], name: str) -> str | None:
    value = group.get(name)
    return str(value) if isinstance(value, str | int | float) else None


def _number(group: Mapping[str, Any], name: str) -> float:
    value = group.get(name)
    return float(value) if isinstance(value, int | float) else math.nan
