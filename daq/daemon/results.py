"""What a work came to, as JSON and back: arrays as lists, null where there is no number."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter

from calibration.passes import RawPass
from daq.acquire.health.check import RigHealth
from daq.wire.records import SampleBlock


@dataclass(frozen=True, slots=True)
class StepDone:
    """What a whole step is answered with, as JSON has it."""

    document: dict[str, Any]


Result = Path | RigHealth | list[RawPass] | SampleBlock | StepDone
_HEALTH = TypeAdapter(RigHealth)
_PASS_COLUMNS = ("t_s", "x_mm", "y_mm", "z_mm")


def to_json(result: Result) -> Any:
    """As `json` writes it, without NaN."""
    match result:
        case Path():
            return str(result)
        case StepDone():
            return result.document
        case RigHealth():
            return _HEALTH.dump_python(result, mode="json")
        case SampleBlock():
            names = SampleBlock.__slots__
            return {name: getattr(result, name).tolist() for name in names}
        case _:
            return [_pass_to_json(one) for one in result]


def health_from(document: Any) -> RigHealth:
    """A check's result."""
    return _HEALTH.validate_json(json.dumps(document))


def passes_from(document: Any) -> list[RawPass]:
    """Those of a drive over the pads."""
    return [_pass_from(one) for one in document]


def samples_from(document: Any) -> SampleBlock:
    """Those of a look."""
    unsigned = ("seq", "t_us")
    columns: dict[str, Any] = {
        name: np.array(document[name], np.uint32 if name in unsigned else np.int32)
        for name in SampleBlock.__slots__
    }
    return SampleBlock(**columns)


def _pass_to_json(one: RawPass) -> dict[str, Any]:
    columns = {name: _list(getattr(one, name)) for name in _PASS_COLUMNS}
    return {
        "lane": one.lane,
        "string": None if one.string != one.string else one.string,
        "direction": one.direction,
        "speed_mm_s": one.speed_mm_s,
        **columns,
        "temp_c": None if one.temp_c is None else _list(one.temp_c),
    }


def _pass_from(document: Any) -> RawPass:
    columns = {name: _array(document[name]) for name in _PASS_COLUMNS}
    return RawPass(
        lane=document["lane"],
        string=np.nan if document["string"] is None else document["string"],
        direction=document["direction"],
        speed_mm_s=document["speed_mm_s"],
        **columns,
        temp_c=None if document["temp_c"] is None else _array(document["temp_c"]),
    )


def _list(values: NDArray[Any]) -> list[float | None]:
    return [None if value != value else value for value in values.tolist()]


def _array(values: list[float | None]) -> NDArray[np.float64]:
    return np.array(values, np.float64)  # None becomes NaN
