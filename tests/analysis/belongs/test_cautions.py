"""Readings too far apart, lanes off the board, a nut far from where the file has it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.belongs.belongs import check_belongs
from analysis.faults import NeckError
from analysis.instrument import Instrument
from calibration.profile import Profile

MakeNeck = Callable[..., Any]
LANES = [1.0, 2.0, 3.5, 5.0, 6.0]


def fallen(profile: Profile, low: float, high: float, by: float) -> Profile:
    """The tip beside the board between two carriage positions: mm down, or nothing (NaN)."""
    off = (profile.x_mm > low) & (profile.x_mm < high)
    z = np.where(off, profile.z_mm - by, profile.z_mm)
    return replace(profile, z_mm=z, ok=np.isfinite(z))


def with_fallen(
    profiles: list[Profile], string: float, low: float, high: float, by: float
) -> list[Profile]:
    return [fallen(p, low, high, by) if p.string == string else p for p in profiles]


def test_a_good_scan_has_no_remarks(make_neck: MakeNeck, walnut: Instrument) -> None:
    assert check_belongs(make_neck(walnut).profiles(lanes=LANES), walnut).remarks == ()


@pytest.mark.parametrize(("off", "said"), [(4.0, False), (-4.0, False), (6.5, True), (-15.0, True)])
def test_a_nut_off_its_place_is_said(
    make_neck: MakeNeck, walnut: Instrument, off: float, said: bool
) -> None:
    profiles = make_neck(walnut, nut_mm=61.0 + off).profiles(lanes=LANES)
    remarks = check_belongs(profiles, walnut).remarks
    words = f"nut_at_mm: the file says 61, the nut stands at {61.0 + off:.1f}: correct it"
    assert len(remarks) == int(said)
    assert all(words in remark for remark in remarks)


@pytest.mark.parametrize("off", [-45.0, 37.0, 70.0])
def test_a_nut_beyond_the_search_is_an_error(
    make_neck: MakeNeck, walnut: Instrument, off: float
) -> None:
    """37 mm is a fret's worth: nothing but the scale tells."""
    file = replace(walnut, nut_at_mm=61.0 - off)
    profiles = make_neck(walnut).profiles(lanes=LANES)
    with pytest.raises(NeckError, match=rf"nut_at_mm: the file says {61 - off:g}.* at 61\.\d mm"):
        check_belongs(profiles, file)


@pytest.mark.parametrize(
    ("speed", "words"),
    [(120.0, r"at 120 mm/s samples lie 0\.30 .*scan at 80 mm/s or"), (None, "0.30 .*scan slower")],
)
def test_too_fast(make_neck: MakeNeck, walnut: Instrument, speed: float | None, words: str) -> None:
    profiles = make_neck(walnut).profiles(lanes=LANES, step_mm=0.3)
    if speed is not None:
        profiles = [replace(p, speed_mm_s=speed) for p in profiles]
    with pytest.raises(NeckError, match=f"too few readings under the crowns: .*{words}") as error:
        check_belongs(profiles, walnut)
    assert (speed is None) == ("mm/s" not in str(error.value))


def test_one_pass_too_fast_is_a_remark(make_neck: MakeNeck, walnut: Instrument) -> None:
    profiles = make_neck(walnut).profiles(lanes=LANES)
    profiles[3] = make_neck(walnut).profiles(lanes=[2.0], step_mm=0.4)[1]
    (remark,) = check_belongs(profiles, walnut).remarks
    assert "over frets 1 to 22 of the lane under string 2" in remark


def test_lost_readings_are_not_speed(make_neck: MakeNeck, walnut: Instrument) -> None:
    """Spikes taken out leave the readings as dense as they were made."""
    profiles = make_neck(walnut).profiles(lanes=LANES)
    rng = np.random.default_rng(1)
    holed = [replace(p, ok=p.ok & (rng.uniform(size=p.ok.size) > 0.3)) for p in profiles]
    assert check_belongs(holed, walnut).remarks == ()


@pytest.mark.parametrize("by", [5.0, np.nan])
def test_a_lane_off_the_board_is_named(make_neck: MakeNeck, walnut: Instrument, by: float) -> None:
    profiles = with_fallen(make_neck(walnut).profiles(lanes=LANES), 6.0, 361.0, 431.0, by)
    (remark,) = check_belongs(profiles, walnut).remarks
    words = r"the lane under string 6 is off the board from 30[01] to (369|370) mm from the nut"
    assert re.match(words, remark)


def test_a_lane_off_the_board_over_most_of_it(make_neck: MakeNeck, walnut: Instrument) -> None:
    profiles = with_fallen(make_neck(walnut).profiles(lanes=LANES), 3.5, 161.0, 600.0, 8.0)
    with pytest.raises(NeckError, match="between strings 3 and 4 is off the board from 100 to 4"):
        check_belongs(profiles, walnut)


@pytest.mark.parametrize("wide", [1.0, 5.0])
def test_a_crack_is_not_off_the_board(make_neck: MakeNeck, walnut: Instrument, wide: float) -> None:
    profiles = with_fallen(make_neck(walnut).profiles(lanes=LANES), 6.0, 361.0, 361.0 + wide, 5.0)
    assert check_belongs(profiles, walnut).remarks == ()


def test_a_lane_past_the_board_s_edge(make_neck: MakeNeck, walnut: Instrument) -> None:
    narrow = replace(walnut, board_width_mm=(34.0, 42.0))
    remarks = check_belongs(make_neck(walnut).profiles(lanes=LANES), narrow).remarks
    assert len(remarks) == 2
    assert "the lane under string 1 lies" in remarks[0]
    assert "mm past the board's edge at fret" in remarks[0]
    assert "board.width_mm" in remarks[0]


def test_a_neck_turned_on_the_rig_is_said(make_neck: MakeNeck, walnut: Instrument) -> None:
    """5 mrad about its nut, every reading made where the lane then crosses it."""
    neck, turn = make_neck(walnut), 5e-3
    profiles = []
    for one in neck.profiles(lanes=LANES):
        # to first order: a lane's y brings its frets nearer, and their places are all that counts
        profiles.append(replace(one, x_mm=one.x_mm - turn * one.y_mm))
    (remark,) = check_belongs(profiles, walnut).remarks
    assert re.match(
        r"the neck lies turned on the rig: 2\.[34] ± 0\.\d mm across .* fret 22", remark
    )


def test_one_blind_pass_is_not_a_lane_off_the_board(
    make_neck: MakeNeck, walnut: Instrument
) -> None:
    profiles = make_neck(walnut).profiles(lanes=LANES)
    profiles[3] = fallen(profiles[3], 0.0, 640.0, np.nan)
    assert check_belongs(profiles, walnut).remarks == ()


def with_bar(profiles: list[Profile], low: float, high: float, z_mm: float) -> list[Profile]:
    """Something on the board between two carriage positions, its top z_mm high."""
    return [
        replace(p, z_mm=np.where((p.x_mm > low) & (p.x_mm < high), z_mm, p.z_mm)) for p in profiles
    ]


@pytest.mark.parametrize(("fret", "where"), [(1, "between the nut and fret 1"), (5, "4 and 5")])
def test_a_capo_left_on_is_said(
    make_neck: MakeNeck, walnut: Instrument, fret: int, where: str
) -> None:
    """Behind a fret, where it hides none."""
    profiles = make_neck(walnut).profiles(lanes=LANES)
    place = 61.0 + float(walnut.fret_x_mm(fret, 3.5))
    (remark,) = check_belongs(with_bar(profiles, place - 11.0, place - 3.0, 8.0), walnut).remarks
    assert re.search(rf"something stands \d\.\d mm over the frets .*{where}: a capo", remark)


def test_a_splinter_and_a_tall_fret_are_no_capo(make_neck: MakeNeck, walnut: Instrument) -> None:
    profiles = make_neck(walnut).profiles(lanes=LANES)
    place = 61.0 + float(walnut.fret_x_mm(5, 3.5))
    for bar in ((place - 9.0, place - 8.0, 8.0), (place - 15.0, place - 4.0, 1.5)):
        assert check_belongs(with_bar(profiles, *bar), walnut).remarks == ()
    one = with_bar(profiles[:2], place - 11.0, place - 3.0, 8.0) + profiles[2:]
    assert check_belongs(one, walnut).remarks == ()
