"""Where a beam of some length can lie."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.bench.windows import STROKE_MM, windows
from analysis.instrument import Instrument


@pytest.fixture
def x_mm(walnut: Instrument) -> np.ndarray:
    return walnut.fret_x_mm(np.arange(1.0, 23.0)[:, None], walnut.string_numbers[None, :])


@pytest.mark.parametrize("beam_mm", [None, 430.0, 2000.0])
def test_a_beam_as_long_as_the_frets_lies_over_all(x_mm: np.ndarray, beam_mm: float | None) -> None:
    assert windows(x_mm, beam_mm) == ((0, 21),)


@pytest.mark.parametrize("beam_mm", [60.0, 150.0, 300.0])
def test_what_lies_under_is_what_a_beam_slid_along_covers(x_mm: np.ndarray, beam_mm: float) -> None:
    """The beam moved in steps of 0.1 mm; a set counts where it stays for a stroke."""
    x = x_mm[:, 0]
    stays: dict[tuple[int, int], int] = {}
    for start in np.arange(0.0, x[-1], 0.1):
        under = np.flatnonzero((x >= start) & (x <= start + beam_mm))
        middle = start + 0.5 * beam_mm
        if under.size >= 3 and (under[-1] < 21 or middle <= x[-1]):
            key = int(under[0]), int(under[-1])
            stays[key] = stays.get(key, 0) + 1
    slid = {key for key, steps in stays.items() if 0.1 * steps >= STROKE_MM + 0.2}
    near = {key for key, steps in stays.items() if 0.1 * steps >= STROKE_MM - 0.2}
    assert slid <= set(windows(x_mm, beam_mm)) <= near


def test_too_short_a_beam_lies_nowhere(x_mm: np.ndarray) -> None:
    assert windows(x_mm, 12.0) == ()
