"""A scan made in one direction only."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from calibration.lag.lag import Lag
from daq.errors import InputError
from daq.reading.lanes import check_ways

LAG = Lag(0.004, 1e-5, 0.02, 1e-4)


def scan_of(*passes: tuple[int, bool]) -> SimpleNamespace:
    """(direction, whether it was good) of each."""
    made = [SimpleNamespace(direction=way, good=good) for way, good in passes]
    return SimpleNamespace(path=Path("a.h5"), passes=made)


@pytest.mark.parametrize("lag", [None, LAG])
def test_both_ways_are_as_wanted(lag: Lag | None) -> None:
    assert check_ways(scan_of((1, True), (-1, True), (1, True)), lag) == ()


@pytest.mark.parametrize(("way", "words"), [(1, "to the right"), (-1, "to the left")])
def test_one_way_rests_on_the_lag(way: int, words: str) -> None:
    scan = scan_of((way, True), (way, True), (-way, False))
    (remark,) = check_ways(scan, LAG)
    assert remark == (
        f"all passes go {words}: nothing but the lag calibration says where crowns stand"
    )
    with pytest.raises(InputError, match=rf"a\.h5: all passes go {words}, and no lag .* calibrate"):
        check_ways(scan, None)
