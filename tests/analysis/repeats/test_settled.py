"""Which scan of several to believe about one top."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.repeats.outliers import HARMLESS_MM, ODD, settled

U = 0.001
#: Heights in µm in the order of time, which of them are kept, what is left unknown in µm.
CASES = {
    "all agree": ([0, 1, -1], "111", 0),
    "two agree": ([0, 3], "11", 0),
    "the first stood higher": ([20, 0, 1], "011", 0),
    "the first stood lower": ([-20, 0, 1], "011", 0),
    "one in the middle": ([0, -20, 1], "101", 0),
    "dirt on the latest": ([0, 1, 20], "110", 0),
    "the latest sank": ([20, 21, 0], "001", 0),
    "two after two sank": ([20, 21, 0, 1], "0011", 0),
    "the latest of five sank": ([20, 21, 19, 20, 0], "00001", 0),
    "two after two rose": ([0, 1, 20, 21], "1100", 10),
    "two disagree, the later lower": ([20, 0], "01", 10),
    "two disagree, the later higher": ([0, 20], "10", 10),
    "three camps": ([0, 20, 40], "100", 20),
    "two of five are off": ([0, 20, 1, -30, 0], "10101", 0),
    "not seen in one": ([0, None, 1], "101", 0),
    "seen in one": ([None, 5, None], "010", 0),
    "never seen": ([None, None], "00", 0),
    "two disagree, one did not see": ([0, None, 20], "100", 10),
}


@pytest.mark.parametrize(("heights", "kept", "spread"), CASES.values(), ids=CASES)
def test_cases(heights: list[float | None], kept: str, spread: float) -> None:
    values = np.array([[np.nan if h is None else 1e-3 * h] for h in heights])
    found = settled(values, np.full(values.shape, U))
    assert "".join("01"[int(k)] for k in found.kept[:, 0]) == kept
    assert found.spread_mm[0] == pytest.approx(1e-3 * spread, abs=0.6e-3)


def test_more_uncertain_heights_may_lie_further_apart() -> None:
    far = np.array([[0.0, 0.0], [0.02, 0.02], [0.0, 0.0]])
    found = settled(far, np.array([[0.001, 0.01]] * 3))
    assert found.kept.T.tolist() == [[True, False, True], [True, True, True]]


seen = st.floats(-0.05, 0.05)
heights = st.lists(st.one_of(st.just(float("nan")), seen), min_size=1, max_size=7)


@given(heights, st.floats(2e-4, 5e-3), st.floats(-1.0, 1.0))
def test_what_is_kept(values: list[float], u: float, lift: float) -> None:
    """Something wherever something was seen, only what was seen, all within a limit of each
    other's mean, and the same for a neck that lies higher."""
    column = np.array(values)[:, None]
    wide = np.full(column.shape, u)
    found = settled(column, wide)
    kept, known = found.kept[:, 0], np.isfinite(column[:, 0])
    assert kept.any() == known.any()
    assert not kept[~known].any()
    assert found.spread_mm[0] >= 0.0
    if kept.sum() > 1:
        apart = np.ptp(column[kept, 0])
        assert apart <= 2.0 * max(ODD * np.sqrt(2.0) * u, HARMLESS_MM)
    if (known & ~kept).any() and found.spread_mm[0] == 0.0:
        latest = np.flatnonzero(known)[-1]
        assert kept[latest] or column[latest, 0] > column[kept, 0].min()
    # a number no binary fraction rounds differently
    again = settled(column + round(lift * 1024) / 1024, wide)
    assert np.array_equal(again.kept, found.kept) or near_a_limit(column, u)


def near_a_limit(column: np.ndarray, u: float) -> bool:
    """Rounding may decide a case that stands on the limit."""
    at = column[np.isfinite(column)]
    gaps = np.abs(at[:, None] - at[None, :])[np.triu_indices(at.size, 1)]
    means = np.abs(at - at.mean())
    limits = [HARMLESS_MM, ODD * u, ODD * np.sqrt(2.0) * u, ODD * np.sqrt(1.5) * u]
    every = np.concatenate([gaps, means])
    return any(np.any(np.abs(every - limit) < 1e-9) for limit in limits) or np.any(gaps < 1e-12)
