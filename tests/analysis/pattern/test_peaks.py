"""Peaks against the library's own, which costs too much to load to be used."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from analysis.pattern.peaks import find_peaks


@pytest.mark.filterwarnings("ignore:some peaks have a prominence of 0")
@given(
    seed=st.integers(0, 2**32 - 1),
    size=st.integers(0, 400),
    decimals=st.sampled_from([1, 2, 12]),
    unseen=st.integers(0, 9),
    apart=st.floats(1.0, 25.0),
    around=st.integers(1, 80),
)
def test_they_are_those_of_the_library(
    seed: int, size: int, decimals: int, unseen: int, apart: float, around: int
) -> None:
    rng = np.random.default_rng(seed)
    z = np.maximum(np.round(np.cumsum(rng.normal(0.0, 0.1, size)), decimals), 0.0)
    if size:
        z[rng.integers(0, size, unseen)] = np.nan
    theirs, _ = signal.find_peaks(
        z, height=0.2, distance=apart, prominence=0.2, wlen=2 * around + 1
    )
    assert find_peaks(z, 0.2, apart, around).tolist() == theirs.tolist()


@pytest.mark.parametrize(
    ("z", "peaks"),
    [
        ([0.0, 1.0, 1.0, 1.0, 0.0], [2]),
        ([1.0, 0.0, 1.0], []),
        ([0.0, 1.0, 0.9, 1.0, 0.0], [3]),
        ([0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.6, 0.0], [1, 6]),
        ([0.0, 0.1, 0.0], []),
    ],
)
def test_by_hand(z: list[float], peaks: list[int]) -> None:
    assert find_peaks(np.array(z), 0.2, 4.0, 10).tolist() == peaks
