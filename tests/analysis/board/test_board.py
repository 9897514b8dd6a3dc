"""The board between the frets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.board.board import board_at_frets_mm, board_z_mm, gap_middles_mm
from analysis.instrument import Instrument
from analysis.pattern.register import Registration

HERE = Registration(61.0, 0.0, 1.0, 0.0, 1.0)


def board_of(neck: Any, walnut: Instrument, seed: int = 1, **change: Any) -> tuple:
    (profile, _) = neck.profiles(seed, lanes=[3.0])
    for key, value in change.items():
        profile = replace(profile, **{key: value(profile)})
    x = walnut.fret_x_mm(np.arange(1.0, 23.0), 3.0)
    middles = gap_middles_mm(x)
    y = walnut.string_y_mm(3.0, middles)
    z, u = board_z_mm(profile, HERE, x, 1.0)
    return z - neck.board_mm(middles, y), u


def test_middles_of_the_gaps() -> None:
    assert gap_middles_mm(np.array([36.0, 70.0])).tolist() == [18.0, 53.0]


def test_board_is_found(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    off, u = board_of(make_neck(walnut), walnut)
    seen = np.isfinite(off)
    # the gaps past fret 20 are too narrow between the crowns' feet to hold many readings
    assert seen[:20].all()
    assert np.max(np.abs(off[seen])) < 2.5e-3
    assert np.all(u[seen] >= 0.002)


def test_dirt_does_not_count(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    def with_specks(profile: Any) -> np.ndarray:
        z = profile.z_mm.copy()
        # 0.8 mm wide and 50 um high, one in every gap
        for middle in 61.0 + gap_middles_mm(walnut.fret_x_mm(np.arange(1.0, 23.0), 3.0)):
            z[np.abs(profile.x_mm - middle - 1.0) < 0.4] += 0.05
        return z

    off, _ = board_of(make_neck(walnut), walnut, z_mm=with_specks)
    assert np.nanmax(np.abs(off)) < 4e-3


def test_a_gap_nobody_saw(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    x = walnut.fret_x_mm(np.arange(1.0, 23.0), 3.0)

    def without_a_gap(profile: Any) -> np.ndarray:
        return profile.ok & ~((profile.x_mm > 61.0 + x[3]) & (profile.x_mm < 61.0 + x[4]))

    off, u = board_of(make_neck(walnut), walnut, ok=without_a_gap)
    assert np.isnan(off[4])
    assert np.isnan(u[4])
    assert np.isfinite(off[[3, 5]]).all()


def test_board_under_the_frets_follows_a_bow(walnut: Instrument) -> None:
    x = walnut.fret_x_mm(np.arange(1.0, 23.0), 3.0)

    def bow(at: np.ndarray) -> np.ndarray:
        return 0.3 * ((at - 220.0) / 220.0) ** 2

    found = board_at_frets_mm(x, bow(gap_middles_mm(x)))
    assert np.max(np.abs(found - bow(x))[:-1]) < 1e-9
    assert abs(found[-1] - bow(x)[-1]) < 2e-3


def test_a_missing_gap_is_bridged_and_too_few_are_none(walnut: Instrument) -> None:
    x = walnut.fret_x_mm(np.arange(1.0, 23.0), 3.0)
    board = 0.001 * gap_middles_mm(x)
    board[5] = np.nan
    np.testing.assert_allclose(board_at_frets_mm(x, board), 0.001 * x, atol=1e-9)
    board[3:] = np.nan
    assert np.isnan(board_at_frets_mm(x, board)).all()


def test_u_covers_without_grain(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    """The wood's own 2 um stands in u: on a smooth board it covers easily."""
    neck = make_neck(walnut)
    within = []
    for seed in range(5):
        off, u = board_of(neck, walnut, seed)
        within.append(np.mean(np.abs(off[np.isfinite(off)]) < 2.0 * u[np.isfinite(off)]))
    assert np.mean(within) == pytest.approx(1.0, abs=0.05)
