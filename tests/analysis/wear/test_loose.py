"""Frets over which the passes of one scan disagree, and frets over which they only seem to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.wear.loose import loose_frets, ways_off_mm

MakeNeck = Callable[..., Any]


@pytest.fixture(scope="module")
def firm(make_neck: MakeNeck, walnut: Instrument) -> Neck:
    high = 1.1 + np.random.default_rng(4).normal(0.0, 0.03, (22, 1)) * np.ones((1, 6))
    return read_neck(make_neck(walnut, height_mm=high).profiles(seed=2), walnut, Tip(1.0))


def rocking(neck: Neck, fret: int, lanes: slice, by_um: float) -> Neck:
    """Forward passes read one fret higher than backward ones, the lanes' tops between."""
    ways = neck.ways_um.copy()
    ways[fret - 1, lanes] += by_um
    return replace(neck, ways_um=ways)


def test_firm_frets_are_not_loose(firm: Neck, make_neck: MakeNeck, walnut: Instrument) -> None:
    assert loose_frets(firm) == ()
    for seed in range(3, 8):
        lanes = [1.0, 1.5, 2.0, 2.5, 3.0, 3.5]
        neck = make_neck(walnut).profiles(seed, lanes=lanes)
        assert loose_frets(read_neck(neck, walnut, Tip(1.0))) == ()


def test_a_fret_that_rocks(firm: Neck) -> None:
    (one,) = loose_frets(rocking(firm, 5, slice(2, 6), 15.0))
    assert one.fret == 5
    assert one.strings == (2.0, 2.5, 3.0, 3.5)
    assert one.size_mm == pytest.approx(0.015, abs=0.003)
    assert 0.0 < one.u_mm < 0.003
    assert one.why == "ways disagree"


def test_what_a_whole_pass_does_is_the_rigs(firm: Neck) -> None:
    """A pass 30 um off, and drift or lag that all frets share, make no fret loose."""
    ways = firm.ways_um.copy()
    ways[:, 3] += 30.0
    ways[:, 4] -= 12.0
    assert loose_frets(replace(firm, ways_um=ways)) == ()


def test_a_speck_in_one_lane_and_a_small_difference_are_not_enough(firm: Neck) -> None:
    assert loose_frets(rocking(firm, 5, slice(2, 3), 40.0)) == ()
    assert loose_frets(rocking(firm, 5, slice(2, 6), 5.0)) == ()


def test_a_noisy_scan_needs_more(firm: Neck) -> None:
    """Where ways disagree by 6 um everywhere, 15 um on one fret are no finding."""
    rng = np.random.default_rng(3)
    noisy = replace(firm, ways_um=firm.ways_um + rng.normal(0.0, 6.0, firm.ways_um.shape))
    assert loose_frets(noisy) == ()
    assert loose_frets(rocking(noisy, 5, slice(2, 6), 15.0)) == ()
    assert [one.fret for one in loose_frets(rocking(noisy, 5, slice(2, 6), 80.0))] == [5]


def test_a_sprung_end_stands_over_the_rest(firm: Neck) -> None:
    """From 8 mm off the middle the fret rises, 70 um at string 1."""
    top = firm.top_mm.copy()
    out = np.clip(firm.y_mm[8] - 8.0, 0.0, None)
    top[8] += 0.07 * out / out.max()
    (one,) = loose_frets(replace(firm, top_mm=top))
    assert (one.fret, one.why) == (9, "lanes disagree")
    assert {1.0, 1.5} <= set(one.strings) <= {1.0, 1.5, 2.0}
    assert 0.03 < one.size_mm < 0.08


def test_an_end_a_little_up_is_no_finding(firm: Neck) -> None:
    top = firm.top_mm.copy()
    out = np.clip(firm.y_mm[8] - 8.0, 0.0, None)
    top[8] += 0.034 * out / out.max()
    assert loose_frets(replace(firm, top_mm=top)) == ()


def test_wear_lean_and_height_are_no_looseness(firm: Neck) -> None:
    top = firm.top_mm.copy()
    top[3] -= 0.08 * np.exp(-0.5 * (firm.y_mm[3] / 1.5) ** 2)
    top[4, 2:4] -= 0.05
    top[5] += 0.2
    top[6] += 0.002 * firm.y_mm[6]
    assert loose_frets(replace(firm, top_mm=top)) == ()


def test_a_scan_one_way_says_nothing_of_ways(firm: Neck) -> None:
    one_way = replace(firm, ways_um=np.full_like(firm.ways_um, np.nan))
    assert loose_frets(one_way) == ()
    off, u = ways_off_mm(one_way)
    assert np.isnan(off).all()
    assert np.isfinite(u).all()


def test_one_entry_a_fret(firm: Neck) -> None:
    top = firm.top_mm.copy()
    out = np.clip(firm.y_mm[8] - 8.0, 0.0, None)
    top[8] += 0.07 * out / out.max()
    found = loose_frets(
        rocking(rocking(replace(firm, top_mm=top), 9, slice(0, 5), 20.0), 2, slice(4, 8), -30.0)
    )
    assert [(one.fret, one.why) for one in found] == [(2, "ways disagree"), (9, "ways disagree")]
