"""The board between the frets and under them, on wood with dirt, inlays, slots and grain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter1d

from analysis.board.blocks import gap_blocks, gap_middles_mm
from analysis.board.board import Board, read_board
from analysis.instrument import Instrument
from calibration.profile import Profile

NUT_MM = 61.0
FRETS = np.arange(1.0, 23.0)
Spoil = Callable[[np.ndarray], np.ndarray]
MakeNeck = Callable[..., Any]


def spoilt(profile: Profile, by: Spoil) -> Profile:
    """With `by` (place on the neck to height) laid on the board, nowhere nearer a fret than
    what the tip touches of it."""
    return replace(profile, z_mm=profile.z_mm + by(profile.x_mm - NUT_MM))


def read(
    neck: Any, inst: Instrument, by: Spoil, seed: int = 1, lane: float = 3.0, **how: Any
) -> tuple[Board, np.ndarray, np.ndarray]:
    """The board of one lane's two passes, its errors in the gaps and under the frets, mm."""
    x = inst.fret_x_mm(np.arange(1.0, inst.frets + 1.0), lane)
    profiles = [spoilt(p, by) for p in neck.profiles(seed, lanes=[lane], **how)]
    ball = how.get("ball_mm", 1.0)
    board = read_board(profiles, NUT_MM + np.stack([x, x]), ball)
    off_gap = board.z_mm - true_mm(neck, inst, gap_middles_mm(x), lane, ball)
    return board, off_gap, board.under_mm - true_mm(neck, inst, x, lane, ball)


def true_mm(neck: Any, inst: Instrument, x: np.ndarray, lane: float, ball: float) -> np.ndarray:
    """The wood and the tip's lift on its slope across."""
    y = inst.string_y_mm(lane, x)
    slope = neck.turn(x) - y * neck.curvature(x)
    return np.asarray(neck.board_mm(x, y) + ball * (np.sqrt(1.0 + slope**2) - 1.0))


def nothing(x: np.ndarray) -> np.ndarray:
    return np.zeros_like(x)


def patches(x: np.ndarray, from_mm: np.ndarray, to_mm: np.ndarray, high: float) -> np.ndarray:
    """`high` between each pair of places."""
    inside = (x[:, None] > from_mm) & (x[:, None] < to_mm)
    return high * inside.any(axis=1)


def test_middles_of_the_gaps(walnut: Instrument) -> None:
    x = walnut.fret_x_mm(FRETS, 3.0)
    np.testing.assert_allclose(gap_middles_mm(x)[:2], [x[0] / 2, (x[0] + x[1]) / 2])
    # on a fanned neck fret 0 under a string is not at 0
    fanned = replace(walnut, scale_bass_mm=680.0, scale_treble_mm=630.0, square_fret=7)
    lanes = fanned.fret_x_mm(FRETS[:, None], np.array([1.0, 6.0]))
    nut = fanned.fret_x_mm(0.0, np.array([1.0, 6.0]))
    assert np.ptp(nut) > 15.0
    np.testing.assert_allclose(gap_middles_mm(lanes)[0], 0.5 * (nut + lanes[0]))


def test_board_is_found(make_neck: MakeNeck, walnut: Instrument) -> None:
    board, gap, under = read(make_neck(walnut), walnut, nothing)
    assert np.max(np.abs(gap)) < 1e-3
    assert np.max(np.abs(under[:, :-1])) < 1e-3
    # the last fret has readings on one side alone
    assert np.max(np.abs(under[:, -1])) < 3e-3
    assert np.all(board.u_under_mm[:, -1] > board.u_under_mm[:, -2])


def test_slope_along_a_bow(make_neck: MakeNeck, walnut: Instrument) -> None:
    """The bow 0.2 ((x - 225) / 225)^2 mm rises by 0.4 (x - 225) / 225^2; the radius changes
    along the lane too, by little."""
    board, _, _ = read(make_neck(walnut), walnut, nothing)
    x = walnut.fret_x_mm(FRETS, 3.0)
    np.testing.assert_allclose(
        board.slope[:, :-1].mean(axis=0), 0.4 * (x[:-1] - 225.0) / 225.0**2, atol=2.5e-4
    )


def test_a_hump_is_followed_under_the_frets(make_neck: MakeNeck, walnut: Instrument) -> None:
    """30 um high, 15 mm to its shoulder, over fret 16: a cubic through the middles of the gaps
    misses it by more."""
    at = float(walnut.fret_x_mm(16.0, 3.0))
    hump = make_neck(walnut, bow_mm=lambda x: 0.03 * np.exp(-0.5 * ((x - at) / 15.0) ** 2))
    _, gap, under = read(hump, walnut, nothing)
    assert np.max(np.abs(gap)) < 1e-3
    assert np.max(np.abs(under[:, :-1])) < 1.5e-3


def test_waves_in_the_wood_are_followed_under_the_frets(
    make_neck: MakeNeck, walnut: Instrument
) -> None:
    """3 um high, 35 mm long: as long as the first gap is wide."""
    wavy = make_neck(walnut, bow_mm=lambda x: 0.003 * np.sin(2.0 * np.pi * x / 35.0))
    board, _, under = read(wavy, walnut, nothing)
    assert np.max(np.abs(under[:, :-1])) < 1.2e-3
    x = walnut.fret_x_mm(FRETS, 3.0)
    steep = 0.003 * 2.0 * np.pi / 35.0
    slope = steep * np.cos(2.0 * np.pi * x / 35.0) + radius_slope(wavy, walnut, x)
    assert np.std((board.slope - slope)[:, :-1]) < 0.35 * steep


def radius_slope(neck: Any, inst: Instrument, x: np.ndarray) -> np.ndarray:
    """What the lane's own way over the cone rises by, by small steps; no bow, no roll."""
    flat = replace(neck, bow_mm=np.zeros_like)
    ahead, back = (true_mm(flat, inst, x + step, 3.0, 1.0) for step in (0.5, -0.5))
    return np.asarray(ahead - back)


def test_blocks_hold_every_reading_once(make_neck: MakeNeck, walnut: Instrument) -> None:
    """A profile with a hole in it, coarser than the blocks of the last gaps are wide."""
    (profile, _) = make_neck(walnut).profiles(1, lanes=[3.0], step_mm=0.4)
    x = NUT_MM + walnut.fret_x_mm(FRETS, 3.0)
    keep = (profile.x_mm < x[1] + 9.0) | (profile.x_mm > x[1] + 15.0)
    holed = replace(profile, **{
        name: getattr(profile, name)[keep] for name in ("x_mm", "y_mm", "z_mm", "ok", "u_rail_mm")
    })  # fmt: skip
    blocks = gap_blocks([holed], x[None], 1.0)
    for gap in (2, 8, 18):
        low, high = x[gap - 1] + 3.0, x[gap] - 3.0
        inside = (holed.x_mm >= low) & (holed.x_mm < high)
        assert blocks.count[0, gap].sum() == np.count_nonzero(inside)
        mean = np.average(blocks.z_mm[0, gap], weights=blocks.count[0, gap])
        assert mean == pytest.approx(np.mean(holed.z_mm[inside]), abs=1e-9)
        place = np.average(blocks.t_mm[0, gap], weights=blocks.count[0, gap])
        assert place + blocks.middle_mm[0, gap] == pytest.approx(np.mean(holed.x_mm[inside]))
    assert np.count_nonzero(blocks.count[0, 2] == 0) >= 4


@pytest.mark.parametrize("high", [0.05, -0.04])
def test_dirt_does_not_count(make_neck: MakeNeck, walnut: Instrument, high: float) -> None:
    """A speck 0.8 mm wide in every gap, and a scratch as wide."""
    middles = gap_middles_mm(walnut.fret_x_mm(FRETS, 3.0))
    board, gap, under = read(
        make_neck(walnut), walnut, lambda x: patches(x, middles + 0.6, middles + 1.4, high)
    )
    assert np.max(np.abs(gap)) < 1.5e-3
    assert np.max(np.abs(under)) < 3e-3
    assert np.mean(np.abs(gap) < 2.0 * board.u_mm) > 0.9


@pytest.mark.parametrize("high", [0.02, -0.03])
def test_a_dot_inlay_is_no_board(make_neck: MakeNeck, walnut: Instrument, high: float) -> None:
    """6 mm wide in the middle of gaps 3 to 15: at fret 15 that is six tenths of what is read."""
    middles = gap_middles_mm(walnut.fret_x_mm(FRETS, 3.0))[[2, 4, 6, 8, 11, 14]]
    _, gap, under = read(
        make_neck(walnut), walnut, lambda x: patches(x, middles - 3.0, middles + 3.0, high)
    )
    assert np.max(np.abs(gap)) < 2e-3
    assert np.max(np.abs(under[:, :-1])) < 1.5e-3


@pytest.mark.parametrize("side", [-1, 1])
def test_a_step_in_the_gap_leaves_the_larger_part(
    make_neck: MakeNeck, walnut: Instrument, side: int
) -> None:
    """An inlay's edge two fifths into the gap: 20 um up to one side of it."""
    x = walnut.fret_x_mm(FRETS, 3.0)
    middle = gap_middles_mm(x)[4]
    part = 0.1 * (x[4] - x[3] - 6.0)
    ends = sorted([middle + side * part, middle + side * 30.0])
    where = np.array(ends).clip(x[3] + 2.5, x[4] - 2.5)
    board, gap, _ = read(
        make_neck(walnut), walnut, lambda a: patches(a, where[:1], where[1:], 0.02)
    )
    # the middle is a tenth of the gap from the edge, with wood on one side alone
    assert np.max(np.abs(gap[:, 4])) < 2e-3
    assert np.all(np.abs(gap[:, 4]) < 2.0 * board.u_mm[:, 4])


def test_a_slot_beside_a_fret(make_neck: MakeNeck, walnut: Instrument) -> None:
    """A ball of 1 mm sinks 60 um into a slot of 0.7 mm, 3.5 mm from every fret on either side."""
    x = walnut.fret_x_mm(FRETS, 3.0)
    slots = np.concatenate([x - 3.5, x + 3.5])
    _, gap, under = read(
        make_neck(walnut), walnut, lambda a: patches(a, slots - 0.35, slots + 0.35, -0.06)
    )
    assert np.max(np.abs(gap)) < 1.5e-3
    assert np.max(np.abs(under[:, :-1])) < 1.5e-3


@pytest.mark.parametrize("length_mm", [0.2, 0.6, 1.2])
def test_u_covers_on_grain(make_neck: MakeNeck, walnut: Instrument, length_mm: float) -> None:
    """Grain of 3 um, a fifth to over one millimetre long, the same for both ways."""
    neck = make_neck(walnut)
    ratio_gap, ratio_under = [], []
    for seed in range(6):
        raw = np.random.default_rng(seed).normal(0.0, 1.0, 20000)
        wood = gaussian_filter1d(raw, length_mm / 0.03)
        wood *= 0.003 / np.std(wood)
        board, gap, under = read(
            neck, walnut, lambda x, w=wood: np.interp(x, 0.03 * np.arange(w.size), w), seed
        )
        ratio_gap.append(gap / board.u_mm)
        ratio_under.append(under / board.u_under_mm)
    for ratio in (np.array(ratio_gap), np.array(ratio_under)):
        assert 0.90 < np.mean(np.abs(ratio) < 2.0) <= 1.0
    # and not by saying a lot
    assert np.sqrt(np.mean(np.array(ratio_gap) ** 2)) > 0.6


def test_a_gap_nobody_saw(make_neck: MakeNeck, walnut: Instrument) -> None:
    x = walnut.fret_x_mm(FRETS, 3.0)
    (profile, _) = make_neck(walnut).profiles(1, lanes=[3.0])
    hole = (profile.x_mm > NUT_MM + x[3]) & (profile.x_mm < NUT_MM + x[4])
    whole = read_board([profile], NUT_MM + x[None], 1.0)
    board = read_board([replace(profile, ok=profile.ok & ~hole)], NUT_MM + x[None], 1.0)
    assert np.flatnonzero(np.isnan(board.z_mm[0])).tolist() == [4]
    assert np.isnan(board.u_mm[0, 4])
    # the frets at either end of it lean on the gap on their other side, and say so
    np.testing.assert_allclose(board.under_mm, whole.under_mm, atol=4e-3)
    assert np.all(board.u_under_mm[0, 3:5] > 1.5 * whole.u_under_mm[0, 3:5])


def test_gaps_too_narrow_to_read_are_bridged(make_neck: MakeNeck, walnut: Instrument) -> None:
    """Past fret 30 nothing is left between the feet of the frets: u grows with the way there."""
    long = replace(walnut, frets=36)
    board, gap, under = read(make_neck(long), long, nothing)
    lost = np.isnan(gap[0])
    assert not lost[:28].any()
    assert lost[34:].all()
    assert np.isfinite(under).all()
    assert np.all(np.abs(under) < 2.5 * board.u_under_mm)
    assert board.u_under_mm[0, -1] > 5.0 * board.u_under_mm[0, 20]


def test_a_large_ball_keeps_off_the_frets(make_neck: MakeNeck, walnut: Instrument) -> None:
    _, gap, under = read(make_neck(walnut), walnut, nothing, ball_mm=2.5)
    assert np.nanmax(np.abs(gap)) < 1.5e-3
    assert np.max(np.abs(under[:, :20])) < 3e-3


def test_a_pass_that_saw_nothing(make_neck: MakeNeck, walnut: Instrument) -> None:
    ahead, back = make_neck(walnut).profiles(1, lanes=[3.0])
    blind = replace(back, ok=np.zeros_like(back.ok), z_mm=np.full_like(back.z_mm, np.nan))
    x = walnut.fret_x_mm(FRETS, 3.0)
    board = read_board([ahead, blind], NUT_MM + np.stack([x, x]), 1.0)
    assert np.isfinite(board.under_mm[0]).all()
    for of in (board.z_mm, board.u_mm, board.under_mm, board.u_under_mm, board.slope):
        assert np.isnan(of[1]).all()
    both = read_board([blind, blind], NUT_MM + np.stack([x, x]), 1.0)
    assert np.isnan(both.under_mm).all()


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    up=st.floats(-5.0, 5.0),
    tilt=st.floats(-0.02, 0.02),
    along=st.floats(-3.0, 3.0),
)
def test_a_neck_lifted_tilted_and_moved_has_the_same_board(
    make_neck: MakeNeck, walnut: Instrument, up: float, tilt: float, along: float
) -> None:
    x = NUT_MM + walnut.fret_x_mm(FRETS, 3.0)
    middle = NUT_MM + gap_middles_mm(walnut.fret_x_mm(FRETS, 3.0))
    profiles = make_neck(walnut).profiles(1, lanes=[3.0])
    moved = [replace(p, x_mm=p.x_mm + along, z_mm=p.z_mm + up + tilt * p.x_mm) for p in profiles]
    here = read_board(profiles, np.stack([x, x]), 1.0)
    # a reading on a block's edge falls to one side or the other by its last digit
    there = read_board(moved, np.stack([x, x]) + along, 1.0)
    np.testing.assert_allclose(there.z_mm - up - tilt * middle, here.z_mm, atol=2e-4)
    np.testing.assert_allclose(there.under_mm - up - tilt * x, here.under_mm, atol=2e-4)
    np.testing.assert_allclose(there.slope - tilt, here.slope, atol=1e-4)
    np.testing.assert_allclose(there.u_mm, here.u_mm, rtol=0.2)
