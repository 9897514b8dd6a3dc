"""Repeated scans combined: tops and scans that are off, named and left out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.neck import Neck
from analysis.repeats.combined import combined

Move = Callable[[Neck, int, int, float], Neck]


@pytest.mark.parametrize(("scan", "by_um"), [(0, 12.0), (1, 12.0), (1, -30.0), (2, 25.0)])
def test_a_top_that_is_off_is_named_and_only_it(
    lab: Any, walnut: Instrument, move_top: Move, scan: int, by_um: float
) -> None:
    scans = lab.scans(3)
    scans[scan] = move_top(scans[scan], 9, 4, by_um)
    found = combined(scans, walnut)
    assert [(one.scan, one.fret, one.string) for one in found.outliers] == [(scan, 9, 3.0)]
    one = found.outliers[0]
    assert one.off_mm == pytest.approx(1e-3 * by_um, abs=4e-3)
    assert one.u_mm == pytest.approx(1e-3 * lab.anew_um * np.sqrt(1.5), rel=0.3)
    assert found.used == (0, 1, 2)
    assert found.left_out == ()
    assert abs(lab.off_at(found.neck, 9, 4)) < 3e-3
    noise = found.neck.terms.parts["noise"]
    assert noise[8, 4] == pytest.approx(1e-3 * lab.anew_um / np.sqrt(2.0), rel=1e-6)
    assert noise[8, 5] == pytest.approx(1e-3 * lab.anew_um / np.sqrt(3.0), rel=1e-6)


def test_a_top_that_sank_is_as_it_is_now(lab: Any, walnut: Instrument, move_top: Move) -> None:
    """Metal that is gone does not come back: both earlier scans are off, not the latest."""
    scans = lab.scans(3)
    scans[2] = move_top(scans[2], 9, 4, -20.0)
    found = combined(scans, walnut)
    assert [(one.scan, one.fret) for one in found.outliers] == [(0, 9), (1, 9)]
    assert all(one.off_mm == pytest.approx(20e-3, abs=4e-3) for one in found.outliers)
    assert lab.off_at(found.neck, 9, 4) == pytest.approx(-20e-3, abs=3e-3)


@pytest.mark.parametrize("scan", [0, 1])
def test_of_two_scans_neither_is_blamed(
    lab: Any, walnut: Instrument, move_top: Move, scan: int
) -> None:
    scans = lab.scans(2)
    scans[scan] = move_top(scans[scan], 9, 4, 20.0)
    found = combined(scans, walnut)
    (one,) = found.outliers
    assert (one.scan, one.fret, one.string) == (None, 9, 3.0)
    assert abs(one.off_mm) == pytest.approx(20e-3, abs=4e-3)
    assert found.neck.u_top_mm[8, 4] == pytest.approx(10e-3, rel=0.15)
    assert abs(lab.off_at(found.neck, 9, 4)) < 3e-3


def test_dirt_on_the_board_lifts_no_height(lab: Any, walnut: Instrument) -> None:
    scans = lab.scans(3)
    board = scans[0].board_mm.copy()
    board[5, 2] += 0.05
    scans[0] = replace(scans[0], board_mm=board)
    found = combined(scans, walnut)
    assert found.outliers == ()
    clean = combined(lab.scans(3), walnut)
    assert found.neck.board_mm[5, 2] == pytest.approx(clean.neck.board_mm[5, 2], abs=1e-3)


def test_a_scan_from_before_the_file_is_left_out(lab: Any, walnut: Instrument) -> None:
    scans = lab.scans(4)
    for scan in (0, 1):
        top = scans[scan].top_mm.copy()
        top[::2] += 0.02
        scans[scan] = replace(scans[scan], top_mm=top)
    found = combined(scans, walnut)
    assert found.used == (2, 3)
    assert [one.scan for one in found.left_out] == [0, 1]
    assert "121 of 242 tops stood higher over the board than now, by 20 µm" in found.left_out[0].why
    assert "metal came off since" in found.left_out[0].why
    assert found.outliers == ()


def test_all_tops_filed_alike_is_seen_on_the_board(lab: Any, walnut: Instrument) -> None:
    first, latest = lab.scans(2)
    found = combined([replace(first, top_mm=first.top_mm + 0.015), latest], walnut)
    assert "242 of 242 tops stood higher over the board than now" in found.left_out[0].why


def test_frets_that_were_seated_are_another_neck(lab: Any, walnut: Instrument) -> None:
    first, latest = lab.scans(2)
    rng = np.random.default_rng(3)
    top = first.top_mm + rng.choice([-0.03, 0.0, 0.03], size=first.top_mm.shape)
    found = combined([replace(first, top_mm=top), latest], walnut)
    assert "tops stand elsewhere than now" in found.left_out[0].why


def test_a_rod_turned_between_is_no_clamping(lab: Any, walnut: Instrument) -> None:
    rng = np.random.default_rng(2)
    scans = [lab.scan(rng, bow_mm=bow) for bow in (0.06, 0.0, 0.004)]
    found = combined(scans, walnut)
    assert found.used == (1, 2)
    (one,) = found.left_out
    assert one.scan == 0
    assert "the neck has bent by" in one.why


def test_other_lanes_are_left_out(lab: Any, walnut: Instrument) -> None:
    first, latest = lab.scans(2)
    found = combined([replace(first, string=first.string + 0.5), latest], walnut)
    assert found.left_out[0].why == "it has other lanes than the latest scan"
    aside = combined([replace(first, y_mm=first.y_mm + 2.0), latest], walnut)
    assert "its lanes lie 2.0 mm beside" in aside.left_out[0].why


def test_a_fret_that_moved_as_a_whole_is_loose(
    lab: Any, walnut: Instrument, move_top: Move
) -> None:
    """It sprang up in one scan of three, under all lanes; dirt on another lies under one."""
    scans = lab.scans(3)
    for lane in range(11):
        scans[1] = move_top(scans[1], 9, lane, 30.0)
    scans[0] = move_top(scans[0], 12, 4, 30.0)
    found = combined(scans, walnut)
    (loose,) = found.loose
    assert (loose.fret, loose.why) == (9, "scans disagree")
    assert loose.strings == tuple(lab.neck.string)
    assert loose.size_mm == pytest.approx(0.03, abs=4e-3)
    assert len(found.outliers) == 12
