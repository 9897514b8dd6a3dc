"""The profile as it grows under the carriage: least and greatest reading in each tenth of a mm."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BIN_MM = 0.1
"""A crown is some 2 mm wide: looked at closely it has to have a shape."""


class LiveProfile:
    """Bins of 0.1 mm over the carriage's travel; NaN where nothing was read yet."""

    def __init__(self, travel_mm: tuple[float, float]) -> None:
        self.from_mm = travel_mm[0]
        count = max(1, int(np.ceil((travel_mm[1] - travel_mm[0]) / BIN_MM)))
        self._low = np.full(count, np.nan)
        self._high = np.full(count, np.nan)

    def clear(self) -> None:
        """A new pass begins."""
        self._low[:] = self._high[:] = np.nan

    def add(self, x_mm: FloatArray, z_mm: FloatArray) -> dict[str, Any] | None:
        """Readings where they were taken; the bins they fell into, or None where in none.

        x_mm, z_mm: float[n], z NaN where there was no reading.
        """
        bins = np.floor((x_mm - self.from_mm) / BIN_MM).astype(np.int64)
        inside = np.isfinite(z_mm) & (bins >= 0) & (bins < self._low.size)
        if not inside.any():
            return None
        bins, z_mm = bins[inside], z_mm[inside]
        np.fmin.at(self._low, bins, z_mm)
        np.fmax.at(self._high, bins, z_mm)
        return self._strip(int(bins.min()), int(bins.max()) + 1)

    def document(self) -> dict[str, Any]:
        """All of it, for a page that comes in the middle."""
        return {"from_mm": self.from_mm, "bin_mm": BIN_MM, **self._strip(0, self._low.size)}

    def _strip(self, first: int, end: int) -> dict[str, Any]:
        return {
            "first": first,
            "low": _numbers(self._low[first:end]),
            "high": _numbers(self._high[first:end]),
        }


def _numbers(values: FloatArray) -> list[float | None]:
    return [None if value != value else round(value, 5) for value in values.tolist()]
