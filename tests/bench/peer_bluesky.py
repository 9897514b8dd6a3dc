"""Recording as a bluesky plan does: an event a reading, documents to a file."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from bluesky import RunEngine
from bluesky import plan_stubs as bps
from bluesky.preprocessors import run_decorator


class _Reading:
    """The least a device must have to be read."""

    name, parent = "rig", None

    def __init__(self, rows: Iterator[tuple[int, ...]]) -> None:
        self._rows = rows

    def read(self) -> dict[str, Any]:
        t, x, raw = next(self._rows)
        return {
            "x": {"value": x, "timestamp": t * 1e-6},
            "raw": {"value": raw, "timestamp": t * 1e-6},
        }

    def describe(self) -> dict[str, Any]:
        return {name: {"source": "bench", "dtype": "integer", "shape": []} for name in ("x", "raw")}


def record(path: Path, columns: Sequence[np.ndarray]) -> None:
    """t, x and raw, an event each."""
    device = _Reading(zip(*(column.tolist() for column in columns), strict=True))

    @run_decorator()
    def plan() -> Iterator[Any]:
        for _ in range(columns[0].size):
            yield from bps.trigger_and_read([device])

    engine = RunEngine({}, context_managers=[])
    with path.open("w") as file:
        engine(plan(), lambda name, document: file.write(json.dumps([name, document]) + "\n"))
        file.flush()
        os.fsync(file.fileno())
