"""Repeated scans combined: what falls with their number, what stays, what is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck
from analysis.neck.shape import unstrung_shape
from analysis.neck.terms import Terms
from analysis.states.combined import Combined, combined

ANEW_UM, SHARED_UM = 0.8, 0.5


@pytest.fixture(scope="module")
def true_neck(walnut: Instrument, make_neck: Callable[..., object]) -> Neck:
    """What all these scans are of: a neck as one fine scan has it."""
    profiles = make_neck(walnut, twist_mrad_per_mm=2e-3).profiles(noise_mm=5e-4)
    return read_neck(profiles, walnut, Tip(1.0))


def displaced(neck: Neck, rng: np.random.Generator, bow_mm: float = 0.0) -> tuple:
    """How a neck lies once more: height, tilt, turn and a bow, at tops and board."""
    up, along, across = rng.normal(0.0, [0.2, 4e-4, 1e-3])
    lanes = zip(neck.gap_x_mm.T, neck.x_mm.T, neck.y_mm.T, strict=True)
    gap_y = np.stack([np.interp(gaps, x, y) for gaps, x, y in lanes], axis=1)

    def at(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        share = x / 470.0
        return up + along * x + across * y + 4.0 * bow_mm * share * (1.0 - share)

    return at(neck.x_mm, neck.y_mm), at(neck.gap_x_mm, gap_y), across


def scan_of(
    neck: Neck,
    rng: np.random.Generator,
    shared_mm: np.ndarray | float = 0.0,
    bow_mm: float = 0.0,
    anew_um: float = ANEW_UM,
) -> Neck:
    """One more scan of it: lies elsewhere, and draws its noise anew."""
    top, board, turn = displaced(neck, rng, bow_mm)
    nothing = np.zeros_like(neck.top_mm)
    terms = Terms({"noise": nothing + 1e-3 * ANEW_UM, "drift": nothing, "crown": nothing,
                   "tip": nothing + 1e-3 * SHARED_UM})  # fmt: skip
    noise = rng.normal(0.0, 1e-3, (2, *neck.top_mm.shape))
    roll = replace(neck.arc.roll, value=neck.arc.roll.value + turn)
    return replace(
        neck,
        top_mm=neck.top_mm + top + shared_mm + anew_um * noise[0],
        u_top_mm=terms.u_mm,
        board_mm=neck.board_mm + board + 0.3 * noise[1],
        u_board_mm=nothing + 1e-3,
        terms=terms,
        arc=replace(neck.arc, roll=roll),
    )


def scans_of(neck: Neck, count: int, seed: int = 1, **how: float) -> list[Neck]:
    rng = np.random.default_rng(seed)
    return [scan_of(neck, rng, **how) for _ in range(count)]


def off_truth(found: Combined | Neck, truth: Neck) -> np.ndarray:
    """As shapes: [frets * lanes], the best plane off."""
    neck = found.neck if isinstance(found, Combined) else found
    off = (neck.top_mm - truth.top_mm).ravel()
    x, y = truth.x_mm.ravel(), truth.y_mm.ravel()
    design = np.column_stack([np.ones_like(x), x, y])
    return np.asarray(off - design @ np.linalg.lstsq(design, off, rcond=None)[0])


def moved(scan: Neck, fret: int, lane: int, by_um: float) -> Neck:
    top = scan.top_mm.copy()
    top[fret - 1, lane] += 1e-3 * by_um
    return replace(scan, top_mm=top)


@pytest.mark.parametrize("count", [2, 4, 9])
def test_noise_falls_with_the_root_of_the_number(
    true_neck: Neck, walnut: Instrument, count: int
) -> None:
    off = [off_truth(combined(scans_of(true_neck, count, seed), walnut), true_neck)
           for seed in range(12)]  # fmt: skip
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(
        1e-3 * ANEW_UM / np.sqrt(count), rel=0.05
    )


def test_what_scans_share_stays(true_neck: Neck, walnut: Instrument) -> None:
    shared = np.random.default_rng(9).normal(0.0, 1e-3 * SHARED_UM, true_neck.top_mm.shape)
    found = combined(scans_of(true_neck, 9, shared_mm=shared), walnut)
    off = off_truth(found, true_neck)
    expected = np.hypot(SHARED_UM, ANEW_UM / 3.0)
    assert np.sqrt(np.mean(off**2)) == pytest.approx(1e-3 * expected, rel=0.15)
    parts = found.neck.terms.parts
    assert parts["tip"] == pytest.approx(1e-3 * SHARED_UM)
    assert parts["noise"] == pytest.approx(1e-3 * ANEW_UM / 3.0, rel=1e-6)
    assert found.neck.u_top_mm == pytest.approx(found.neck.terms.u_mm)
    assert np.max(parts["clamping"]) < 0.3e-3


@pytest.mark.parametrize("count", [2, 3, 6])
def test_uncertainties_cover(true_neck: Neck, walnut: Instrument, count: int) -> None:
    """Noise, a part that all share, and bends: 92 to 98 % of tops within twice theirs."""
    within = []
    for seed in range(30):
        rng = np.random.default_rng([seed, count])
        shared = rng.normal(0.0, 1e-3 * SHARED_UM, true_neck.top_mm.shape)
        scans = [scan_of(true_neck, rng, shared) for _ in range(count)]
        found = combined(scans, walnut)
        within.append(np.abs(off_truth(found, true_neck)) <= 2.0 * found.neck.u_top_mm.ravel())
    assert 0.92 < np.mean(within) < 0.98


@pytest.mark.parametrize("anew", [True, False])
def test_the_crown_s_uncertainty_is_divided_by_what_scans_scatter(
    true_neck: Neck, walnut: Instrument, anew: bool
) -> None:
    """Not knowing a flat may be the same error in all scans, or another in each."""
    rng = np.random.default_rng(4)
    scans, once = [], rng.normal(0.0, 1.5e-3, true_neck.top_mm.shape)
    for scan in scans_of(true_neck, 4):
        crown = rng.normal(0.0, 1.5e-3, once.shape) if anew else once
        parts = {**scan.terms.parts, "crown": np.full_like(once, 1.5e-3)}
        scans.append(replace(scan, top_mm=scan.top_mm + crown, terms=Terms(parts)))
    left = float(np.median(combined(scans, walnut).neck.terms.parts["crown"]))
    assert left == pytest.approx(0.75e-3 if anew else 1.5e-3, rel=0.06)


def test_scatter_beyond_what_is_stated_is_counted(true_neck: Neck, walnut: Instrument) -> None:
    """Noise twice as large as it is said to be."""
    scans = [
        replace(scan, terms=Terms({**scan.terms.parts, "crown": scan.terms.parts["noise"]}))
        for scan in scans_of(true_neck, 4, anew_um=2.0 * ANEW_UM)
    ]
    found = combined(scans, walnut)
    # four parts of variance: one is noise, one the crown's, two are neither
    assert np.median(found.neck.terms.parts["repeat"]) == pytest.approx(
        1e-3 * ANEW_UM * np.sqrt(2.0) / 2.0, rel=0.1
    )


def test_the_latest_scan_s_frame_stands(true_neck: Neck, walnut: Instrument) -> None:
    scans = scans_of(true_neck, 5)
    neck = combined(scans, walnut).neck
    off = (neck.top_mm - scans[-1].top_mm).ravel()
    x, y = true_neck.x_mm.ravel(), true_neck.y_mm.ravel()
    plane = np.linalg.lstsq(np.column_stack([np.ones_like(x), x / 400, y / 20]), off, rcond=None)
    assert np.max(np.abs(plane[0])) < 0.5e-3
    alone, both = (unstrung_shape(one, walnut) for one in (scans[-1], neck))
    assert both.twist_mrad == pytest.approx(alone.twist_mrad, abs=0.03)
    assert both.board_radius_mm == pytest.approx(alone.board_radius_mm, rel=1e-6)
    assert neck.arc.slope(200.0, 0.0) == pytest.approx(scans[-1].arc.slope(200.0, 0.0), abs=3e-5)
    assert np.median(both.u_top_mm) < 0.8 * np.median(alone.u_top_mm)


def test_clamping_is_averaged_and_its_scatter_counted(true_neck: Neck, walnut: Instrument) -> None:
    """Bows of 5 µm rms, of which fret 8 stands 0.51 over the board's two ends, by hand."""
    within, off = [], []
    truth = unstrung_shape(true_neck, walnut).top_mm
    for seed in range(40):
        rng = np.random.default_rng([seed, 7])
        scans = [scan_of(true_neck, rng, bow_mm=5e-3 * rng.normal()) for _ in range(4)]
        shape = unstrung_shape(combined(scans, walnut).neck, walnut)
        off.append(shape.top_mm[7] - truth[7])
        within.append(np.abs(off[-1]) <= 2.0 * shape.u_top_mm[7])
    expected = np.hypot(5e-3 * 0.51, 1e-3 * ANEW_UM) / np.sqrt(4)
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(expected, rel=0.2)
    assert np.mean(within) > 0.9


@pytest.mark.parametrize(("scan", "by_um"), [(0, 12.0), (1, 12.0), (1, -30.0), (2, 25.0)])
def test_a_top_that_is_off_is_named_and_only_it(
    true_neck: Neck, walnut: Instrument, scan: int, by_um: float
) -> None:
    scans = scans_of(true_neck, 3)
    scans[scan] = moved(scans[scan], 9, 4, by_um)
    found = combined(scans, walnut)
    assert [(one.scan, one.fret, one.string) for one in found.outliers] == [(scan, 9, 3.0)]
    one = found.outliers[0]
    assert one.off_mm == pytest.approx(1e-3 * by_um, abs=4e-3)
    assert one.u_mm == pytest.approx(1e-3 * ANEW_UM * np.sqrt(1.5), rel=0.3)
    assert found.used == (0, 1, 2)
    assert found.left_out == ()
    at = np.ravel_multi_index((8, 4), true_neck.top_mm.shape)
    assert abs(off_truth(found, true_neck)[at]) < 3e-3
    noise = found.neck.terms.parts["noise"]
    assert noise[8, 4] == pytest.approx(1e-3 * ANEW_UM / np.sqrt(2.0), rel=1e-6)
    assert noise[8, 5] == pytest.approx(1e-3 * ANEW_UM / np.sqrt(3.0), rel=1e-6)


def test_a_top_that_sank_is_as_it_is_now(true_neck: Neck, walnut: Instrument) -> None:
    """Metal that is gone does not come back: both earlier scans are off, not the latest."""
    scans = scans_of(true_neck, 3)
    scans[2] = moved(scans[2], 9, 4, -20.0)
    found = combined(scans, walnut)
    assert [(one.scan, one.fret) for one in found.outliers] == [(0, 9), (1, 9)]
    assert all(one.off_mm == pytest.approx(20e-3, abs=4e-3) for one in found.outliers)
    at = np.ravel_multi_index((8, 4), true_neck.top_mm.shape)
    assert off_truth(found, true_neck)[at] == pytest.approx(-20e-3, abs=3e-3)


@pytest.mark.parametrize("scan", [0, 1])
def test_of_two_scans_neither_is_blamed(true_neck: Neck, walnut: Instrument, scan: int) -> None:
    scans = scans_of(true_neck, 2)
    scans[scan] = moved(scans[scan], 9, 4, 20.0)
    found = combined(scans, walnut)
    (one,) = found.outliers
    assert (one.scan, one.fret, one.string) == (None, 9, 3.0)
    assert abs(one.off_mm) == pytest.approx(20e-3, abs=4e-3)
    assert found.neck.u_top_mm[8, 4] == pytest.approx(10e-3, rel=0.15)
    at = np.ravel_multi_index((8, 4), true_neck.top_mm.shape)
    assert abs(off_truth(found, true_neck)[at]) < 3e-3


def test_dirt_on_the_board_lifts_no_height(true_neck: Neck, walnut: Instrument) -> None:
    scans = scans_of(true_neck, 3)
    board = scans[0].board_mm.copy()
    board[5, 2] += 0.05
    scans[0] = replace(scans[0], board_mm=board)
    found = combined(scans, walnut)
    assert found.outliers == ()
    clean = combined(scans_of(true_neck, 3), walnut)
    assert found.neck.board_mm[5, 2] == pytest.approx(clean.neck.board_mm[5, 2], abs=1e-3)


def test_a_scan_from_before_the_file_is_left_out(true_neck: Neck, walnut: Instrument) -> None:
    scans = scans_of(true_neck, 4)
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


def test_all_tops_filed_alike_is_seen_on_the_board(true_neck: Neck, walnut: Instrument) -> None:
    first, latest = scans_of(true_neck, 2)
    found = combined([replace(first, top_mm=first.top_mm + 0.015), latest], walnut)
    assert "242 of 242 tops stood higher over the board than now" in found.left_out[0].why


def test_frets_that_were_seated_are_another_neck(true_neck: Neck, walnut: Instrument) -> None:
    first, latest = scans_of(true_neck, 2)
    rng = np.random.default_rng(3)
    top = first.top_mm + rng.choice([-0.03, 0.0, 0.03], size=first.top_mm.shape)
    found = combined([replace(first, top_mm=top), latest], walnut)
    assert "tops stand elsewhere than now" in found.left_out[0].why


def test_a_rod_turned_between_is_no_clamping(true_neck: Neck, walnut: Instrument) -> None:
    rng = np.random.default_rng(2)
    scans = [scan_of(true_neck, rng, bow_mm=bow) for bow in (0.06, 0.0, 0.004)]
    found = combined(scans, walnut)
    assert found.used == (1, 2)
    (one,) = found.left_out
    assert one.scan == 0
    assert "the neck has bent by" in one.why


def test_other_lanes_are_left_out(true_neck: Neck, walnut: Instrument) -> None:
    first, latest = scans_of(true_neck, 2)
    found = combined([replace(first, string=first.string + 0.5), latest], walnut)
    assert found.left_out[0].why == "it has other lanes than the latest scan"
    aside = combined([replace(first, y_mm=first.y_mm + 2.0), latest], walnut)
    assert "its lanes lie 2.0 mm beside" in aside.left_out[0].why


def test_a_lane_a_little_aside_is_moved_along_the_arc(true_neck: Neck, walnut: Instrument) -> None:
    """0.2 mm across at 20 mm from the middle of a 300 mm radius is 13 µm of height."""
    first, latest = scans_of(true_neck, 2, anew_um=0.0)
    slope = first.arc.slope(first.x_mm, first.y_mm + 0.1)
    gap = first.arc.slope(first.gap_x_mm, first.y_mm + 0.1)
    beside = replace(
        first,
        y_mm=first.y_mm + 0.2,
        top_mm=first.top_mm + 0.2 * slope,
        board_mm=first.board_mm + 0.2 * gap,
    )
    assert np.max(np.abs(0.2 * slope)) > 10e-3
    found = combined([beside, latest], walnut)
    assert np.max(np.abs(off_truth(found, true_neck))) < 0.3e-3


def test_one_scan_is_itself(true_neck: Neck, walnut: Instrument) -> None:
    found = combined([true_neck], walnut)
    assert found.neck is true_neck
    assert (found.used, found.left_out, found.outliers) == ((0,), (), ())


def test_a_top_that_only_one_scan_saw(true_neck: Neck, walnut: Instrument) -> None:
    scans = scans_of(true_neck, 3)
    for scan in (0, 2):
        for name in ("top_mm", "u_top_mm"):
            getattr(scans[scan], name)[4, 2] = np.nan
        for part in scans[scan].terms.parts.values():
            part[4, 2] = np.nan
    found = combined(scans, walnut)
    assert np.isfinite(found.neck.top_mm).all()
    assert found.neck.terms.parts["noise"][4, 2] == pytest.approx(1e-3 * ANEW_UM)
    scans[1].top_mm[4, 2] = np.nan
    again = combined(scans, walnut)
    assert np.argwhere(np.isnan(again.neck.top_mm)).tolist() == [[4, 2]]


def test_a_fret_that_moved_as_a_whole_is_loose(true_neck: Neck, walnut: Instrument) -> None:
    """It sprang up in one scan of three, under all lanes; dirt on another lies under one."""
    scans = scans_of(true_neck, 3)
    for lane in range(11):
        scans[1] = moved(scans[1], 9, lane, 30.0)
    scans[0] = moved(scans[0], 12, 4, 30.0)
    found = combined(scans, walnut)
    (loose,) = found.loose
    assert (loose.fret, loose.why) == (9, "scans disagree")
    assert loose.strings == tuple(true_neck.string)
    assert loose.size_mm == pytest.approx(0.03, abs=4e-3)
    assert len(found.outliers) == 12
