"""A column that is written piece by piece, so that it need never be in memory whole."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from daq.record.hdf5 import PACKED, Group

CHUNK = 2**16
"""Values that are compressed together."""


class GrowingColumn:
    """One compressed column, as `put_column` writes them; whole once `finish` was called."""

    def __init__(self, group: Group, name: str, dtype: Any, **attributes: str) -> None:
        self._dataset = group.create_dataset(
            name, (0,), dtype, maxshape=(None,), chunks=(CHUNK,), **PACKED
        )
        self._dataset.attrs.update(attributes)
        self._waiting: list[NDArray[Any]] = []
        self._rows = 0

    def add(self, values: NDArray[Any]) -> None:
        """More of it, at its end."""
        self._waiting.append(values)
        self._rows += values.size
        if self._rows >= CHUNK:
            self._write(self._rows // CHUNK * CHUNK)

    def finish(self) -> None:
        """The last of it."""
        if self._rows:
            self._write(self._rows)

    def _write(self, rows: int) -> None:
        """Whole chunks, but at the end: a chunk written twice is compressed twice."""
        values = np.concatenate(self._waiting)
        before = self._dataset.shape[0]
        self._dataset.resize((before + rows,))
        self._dataset[before:] = values[:rows]
        self._waiting = [values[rows:]]
        self._rows -= rows
