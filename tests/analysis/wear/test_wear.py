"""Dents, flats and verdicts on necks whose wear is known because the test put it there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.wear.unworn import unworn_lines
from analysis.wear.wear import TENTH_SIGMAS, VERDICTS, Wear, bridged_mm, wear_of

MakeNeck = Callable[..., Any]


@pytest.fixture(scope="module")
def whole(make_neck: MakeNeck, walnut: Instrument) -> Neck:
    """Unworn: rolled, twisted, arched, its frets of many heights."""
    high = 1.1 + np.random.default_rng(4).normal(0.0, 0.03, (22, 1)) * np.ones((1, 6))
    neck = make_neck(walnut, roll_mrad=2.0, twist_mrad_per_mm=-0.006, height_mm=high)
    return read_neck(neck.profiles(seed=2), walnut, Tip(1.0))


def hollowed(neck: Neck, fret: int, string: float, deep_mm: float, sigma_mm: float = 1.0) -> Neck:
    """A Gauss hollow across one fret: its top and its height go down."""
    lane = int(np.flatnonzero(neck.string == string)[0])
    away = (neck.y_mm[fret - 1] - neck.y_mm[fret - 1, lane]) / sigma_mm
    down = np.zeros_like(neck.top_mm)
    down[fret - 1] = deep_mm * np.exp(-0.5 * away**2)
    return replace(neck, top_mm=neck.top_mm - down, height_mm=neck.height_mm - down)


def lanes_only(neck: Neck, keep: np.ndarray) -> Neck:
    """Without the other lanes' tops."""
    return replace(neck, top_mm=np.where(keep, neck.top_mm, np.nan))


def test_an_unworn_neck_has_no_dents(whole: Neck, walnut: Instrument) -> None:
    wear = wear_of(whole, walnut)
    assert wear.dent_mm.shape == (22, 6)
    assert np.sqrt(np.mean(wear.dent_mm**2)) < 1.2e-3
    assert 0.9 < np.mean(np.abs(wear.dent_mm) < 2.0 * wear.u_dent_mm) <= 1.0
    assert np.median(wear.u_dent_mm) < 1.5e-3
    assert set(wear.verdict.ravel()) == {"round"}
    assert np.isnan(wear.dent_width_mm).all()


@pytest.mark.parametrize(("fret", "string"), [(2, 3.0), (5, 1.0), (9, 6.0)])
def test_a_dent_is_as_deep_as_it_is(
    whole: Neck, walnut: Instrument, fret: int, string: float
) -> None:
    """Under an outer string there is a lane on one side only."""
    clean = wear_of(whole, walnut)
    wear = wear_of(hollowed(whole, fret, string, 0.05), walnut)
    at = (fret - 1, int(string) - 1)
    assert wear.dent_mm[at] - clean.dent_mm[at] == pytest.approx(0.05, abs=1e-3)
    assert wear.verdict[at] == "dented"
    # and the other strings keep theirs
    others = np.delete(wear.dent_mm - clean.dent_mm, at[1], axis=1)
    assert np.max(np.abs(others)) < 1e-3


def test_tilt_lean_and_a_rounder_fret_are_no_dents(whole: Neck, walnut: Instrument) -> None:
    """Fret 7 leans by 1.5 mrad, fret 8 lies 8 um rounder than the board at its ends."""
    top = whole.top_mm.copy()
    top[6] += 0.0015 * whole.y_mm[6]
    top[7] -= 0.008 * (whole.y_mm[7] / 20.0) ** 2
    clean = wear_of(whole, walnut).dent_mm
    moved = wear_of(replace(whole, top_mm=top), walnut).dent_mm
    assert np.max(np.abs(moved - clean)[6]) < 5e-4
    assert np.max(np.abs(moved - clean)[7]) < 3e-3


def test_a_worn_gap_lane_does_not_hide_a_dent(whole: Neck, walnut: Instrument) -> None:
    """Bent strings have worn the fret between strings 2 and 3 as well, by 30 um."""
    worn = hollowed(hollowed(whole, 4, 3.0, 0.05), 4, 2.5, 0.03)
    wear = wear_of(worn, walnut)
    assert wear.dent_mm[3, 2] == pytest.approx(0.05, abs=6e-3)
    assert abs(wear.dent_mm[3, 2] - 0.05) < 3.0 * wear.u_dent_mm[3, 2]


def test_uneven_frets_are_said_to_be_uneven(whole: Neck, walnut: Instrument) -> None:
    """4 um of unevenness from lane to lane, on every fret, is no wear: u holds it."""
    rng = np.random.default_rng(7)
    within, usual = [], []
    for _ in range(4):
        bumpy = replace(whole, top_mm=whole.top_mm + rng.normal(0.0, 0.004, whole.top_mm.shape))
        wear = wear_of(bumpy, walnut)
        within.append(np.mean(np.abs(wear.dent_mm) < 2.0 * wear.u_dent_mm))
        usual.append(np.median(wear.u_dent_mm))
    assert 0.90 < np.mean(within) < 0.99
    assert 0.003 < np.mean(usual) < 0.009


def test_width_where_the_lanes_beside_lie_in_the_hollow(whole: Neck, walnut: Instrument) -> None:
    """A wide one of 2.5 mm standard width reaches both; one of 1 mm neither."""
    wide = wear_of(hollowed(whole, 3, 3.0, 0.06, 2.5), walnut)
    assert wide.dent_width_mm[2, 2] == pytest.approx(2.5 * TENTH_SIGMAS, rel=0.15)
    assert np.count_nonzero(np.isfinite(wide.dent_width_mm)) == 1
    # under an outer string one side is all there is, and the line at that end leans on it
    outer = wear_of(hollowed(whole, 3, 6.0, 0.06, 2.5), walnut)
    assert outer.dent_width_mm[2, 5] == pytest.approx(2.5 * TENTH_SIGMAS, rel=0.3)
    narrow = wear_of(hollowed(whole, 3, 3.0, 0.06, 1.0), walnut)
    assert np.isnan(narrow.dent_width_mm).all()
    # one side alone is another string's doing
    one = wear_of(hollowed(hollowed(whole, 3, 3.0, 0.06), 3, 3.5, 0.02, 0.5), walnut)
    assert np.isnan(one.dent_width_mm[2, 2])


def test_few_lanes(whole: Neck, walnut: Instrument) -> None:
    dented = hollowed(whole, 6, 4.0, 0.05)
    gaps = dented.string % 1.0 > 0.0
    # both neighbours unseen on fret 6: the rest of the fret still makes a line, less well known
    beside = (np.arange(22)[:, None] == 5) & np.isin(dented.string, (3.5, 4.5))
    far = wear_of(lanes_only(dented, ~beside), walnut)
    near = wear_of(dented, walnut)
    assert far.dent_mm[5, 3] == pytest.approx(0.05, abs=3e-3)
    assert far.u_dent_mm[5, 3] > near.u_dent_mm[5, 3]
    # two gap lanes are enough, one is not
    two = wear_of(lanes_only(dented, ~gaps | np.isin(dented.string, (1.5, 5.5))), walnut)
    assert two.dent_mm[5, 3] == pytest.approx(0.05, abs=5e-3)
    one = wear_of(lanes_only(dented, ~gaps | (dented.string == 2.5)), walnut)
    assert np.isnan(one.dent_mm).all()
    assert np.isnan(one.u_dent_mm).all()
    assert set(one.verdict.ravel()) == {"not known"}


def test_ways_that_disagree_make_a_dent_doubtful(whole: Neck, walnut: Instrument) -> None:
    ways = whole.ways_um.copy()
    ways[3, 4] += 100.0
    wear = wear_of(replace(hollowed(whole, 4, 3.0, 0.05), ways_um=ways), walnut)
    assert wear.u_dent_mm[3, 2] == pytest.approx(0.05, rel=0.1)
    assert wear.verdict[3, 2] == "round"


def test_unknown_tops_and_lanes_off_their_strings(whole: Neck, walnut: Instrument) -> None:
    top = whole.top_mm.copy()
    top[3, 4] = np.nan
    wear = wear_of(replace(whole, top_mm=top), walnut)
    assert np.isnan(wear.dent_mm[3, 2])
    assert wear.verdict[3, 2] == "not known"
    assert np.isfinite(np.delete(wear.dent_mm.ravel(), 3 * 6 + 2)).all()
    y = whole.y_mm.copy()
    y[:, 4] += 1.0
    off = wear_of(replace(whole, y_mm=y), walnut)
    assert np.isnan(off.dent_mm[:, 2]).all()
    assert np.isnan(off.flat_mm[:, 2]).all()


def test_a_strung_scan_shows_no_dents(make_neck: MakeNeck, walnut: Instrument) -> None:
    neck = read_neck(make_neck(walnut).profiles(seed=3, strung=True), walnut, Tip(1.0))
    wear = wear_of(neck, walnut)
    assert np.isnan(wear.dent_mm).all()
    assert set(wear.verdict.ravel()) == {"not known"}


def test_fanned_frets(make_neck: MakeNeck, walnut: Instrument) -> None:
    fanned = replace(walnut, scale_bass_mm=660.0, scale_treble_mm=635.0, square_fret=7)
    neck = read_neck(make_neck(fanned, nut_mm=66.0).profiles(seed=6), fanned, Tip(1.0))
    clean = wear_of(neck, fanned).dent_mm
    assert np.sqrt(np.nanmean(clean**2)) < 1.5e-3
    dented = wear_of(hollowed(neck, 2, 5.0, 0.04), fanned).dent_mm
    assert dented[1, 4] - clean[1, 4] == pytest.approx(0.04, abs=1e-3)


def verdict_of(neck: Neck, instrument: Instrument, **of: float) -> str:
    """Of fret 12 under string 3, whose flat, its u and its height are set."""
    values = {name: getattr(neck, name).copy() for name in of}
    lane = int(np.flatnonzero(neck.string == 3.0)[0])
    for name, value in of.items():
        values[name][11, lane] = value
    return str(wear_of(replace(neck, **values), instrument).verdict[11, 2])


def test_flats(whole: Neck, walnut: Instrument) -> None:
    assert verdict_of(whole, walnut, flat_mm=0.1, u_flat_mm=0.02) == "round"
    assert verdict_of(whole, walnut, flat_mm=0.3, u_flat_mm=0.02) == "leave"
    assert verdict_of(whole, walnut, flat_mm=0.3, u_flat_mm=0.2) == "round"
    # a third of a crown of 1.2 mm radius is 0.8 mm
    assert verdict_of(whole, walnut, flat_mm=0.78, u_flat_mm=0.02) == "leave"
    assert verdict_of(whole, walnut, flat_mm=0.85, u_flat_mm=0.02) == "crown"
    assert verdict_of(whole, walnut, flat_mm=np.nan) == "not known"


def test_a_short_scale_detunes_sooner(whole: Neck, walnut: Instrument) -> None:
    """At fret 22 of a scale of 330 mm 92.6 mm sound, and 5 cents are 0.27 mm of them: half a
    flat of 0.53 mm."""
    flat = whole.flat_mm.copy()
    lane = int(np.flatnonzero(whole.string == 3.0)[0])
    short = replace(walnut, scale_bass_mm=330.0, scale_treble_mm=330.0)
    for width, on_short in ((0.52, "leave"), (0.55, "crown")):
        flat[21, lane] = width
        worn = replace(whole, flat_mm=flat.copy(), u_flat_mm=np.full_like(flat, 0.01))
        assert wear_of(worn, walnut).verdict[21, 2] == "leave"
        assert wear_of(worn, short).verdict[21, 2] == on_short


def test_worn_out(whole: Neck, walnut: Instrument) -> None:
    assert verdict_of(whole, walnut, height_mm=0.48) == "worn out"
    assert verdict_of(whole, walnut, height_mm=0.52) == "round"
    # a dent that leaves enough under itself, and too little of the fret once it is level
    height = whole.height_mm.copy()
    height[11] = np.linspace(0.53, 0.63, height.shape[1])
    leaning = replace(whole, height_mm=height)
    assert wear_of(hollowed(leaning, 12, 5.0, 0.025), walnut).verdict[11, 4] == "dented"
    assert wear_of(hollowed(leaning, 12, 5.0, 0.05), walnut).verdict[11, 4] == "worn out"


def test_verdicts_are_those_allowed(whole: Neck, walnut: Instrument) -> None:
    rng = np.random.default_rng(1)
    for _ in range(5):
        worn = replace(
            whole,
            top_mm=whole.top_mm - np.abs(rng.normal(0.0, 0.02, whole.top_mm.shape)),
            flat_mm=rng.uniform(0.0, 1.2, whole.flat_mm.shape),
            height_mm=rng.uniform(0.3, 1.2, whole.flat_mm.shape),
        )
        wear: Wear = wear_of(worn, walnut)
        assert set(wear.verdict.ravel()) <= set(VERDICTS)


def test_a_ball_stands_on_the_edges_of_a_narrow_hollow() -> None:
    # sagitta of a chord of 0.6 mm in a circle of 1 mm radius
    assert bridged_mm(1.0 - np.sqrt(1.0 - 0.3**2), 1.0) == pytest.approx(0.6)
    assert bridged_mm(0.02, 1.0) == pytest.approx(2.0 * np.sqrt(0.04), rel=0.01)
    assert bridged_mm(0.02, 0.0) == 0.0


def test_lines_are_made_without_the_lane_they_judge(whole: Neck) -> None:
    """A gap lane 40 um down, or 1 um, shows as that, not as what is left after bending its own
    line."""
    lane = int(np.flatnonzero(whole.string == 3.5)[0])
    clean = unworn_lines(whole).off_mm
    for deep in (0.04, 0.001):
        off = unworn_lines(hollowed(whole, 10, 3.5, deep, 0.5)).off_mm - clean
        assert off[9, lane] == pytest.approx(-deep, rel=0.1)
