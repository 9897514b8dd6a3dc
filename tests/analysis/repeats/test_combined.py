"""Repeated scans combined: what falls with their number, what stays, whose frame it is."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.movement.inferred import inferred_strung_shape
from analysis.neck.shape import unstrung_shape
from analysis.neck.terms import Terms
from analysis.repeats.combined import combined


@pytest.mark.parametrize("count", [2, 4, 9])
def test_noise_falls_with_the_root_of_the_number(lab: Any, walnut: Instrument, count: int) -> None:
    off = [lab.off(combined(lab.scans(count, seed), walnut).neck)
           for seed in range(12)]  # fmt: skip
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(
        1e-3 * lab.anew_um / np.sqrt(count), rel=0.05
    )


def test_what_scans_share_stays(lab: Any, walnut: Instrument) -> None:
    shared = np.random.default_rng(9).normal(0.0, 1e-3 * lab.shared_um, lab.neck.top_mm.shape)
    found = combined(lab.scans(9, shared_mm=shared), walnut)
    off = lab.off(found.neck)
    expected = np.hypot(lab.shared_um, lab.anew_um / 3.0)
    assert np.sqrt(np.mean(off**2)) == pytest.approx(1e-3 * expected, rel=0.15)
    parts = found.neck.terms.parts
    assert parts["tip"] == pytest.approx(1e-3 * lab.shared_um)
    assert parts["noise"] == pytest.approx(1e-3 * lab.anew_um / 3.0, rel=1e-6)
    assert found.neck.u_top_mm == pytest.approx(found.neck.terms.u_mm)
    assert np.max(parts["clamping"]) < 0.3e-3


@pytest.mark.parametrize("count", [2, 3, 6])
def test_uncertainties_cover(lab: Any, walnut: Instrument, count: int) -> None:
    """Noise, a part that all share, and bends: 92 to 98 % of tops within twice theirs."""
    within = []
    for seed in range(30):
        rng = np.random.default_rng([seed, count])
        shared = rng.normal(0.0, 1e-3 * lab.shared_um, lab.neck.top_mm.shape)
        scans = [lab.scan(rng, shared) for _ in range(count)]
        found = combined(scans, walnut)
        within.append(np.abs(lab.off(found.neck)) <= 2.0 * found.neck.u_top_mm.ravel())
    assert 0.92 < np.mean(within) < 0.98


@pytest.mark.parametrize("anew", [True, False])
def test_the_crown_s_uncertainty_is_divided_by_what_scans_scatter(
    lab: Any, walnut: Instrument, anew: bool
) -> None:
    """Not knowing a flat may be the same error in all scans, or another in each."""
    rng = np.random.default_rng(4)
    scans, once = [], rng.normal(0.0, 1.5e-3, lab.neck.top_mm.shape)
    for scan in lab.scans(4):
        crown = rng.normal(0.0, 1.5e-3, once.shape) if anew else once
        parts = {**scan.terms.parts, "crown": np.full_like(once, 1.5e-3)}
        scans.append(replace(scan, top_mm=scan.top_mm + crown, terms=Terms(parts)))
    left = float(np.median(combined(scans, walnut).neck.terms.parts["crown"]))
    assert left == pytest.approx(0.75e-3 if anew else 1.5e-3, rel=0.06)


def test_scatter_beyond_what_is_stated_is_counted(lab: Any, walnut: Instrument) -> None:
    """Noise twice as large as it is said to be."""
    scans = [
        replace(scan, terms=Terms({**scan.terms.parts, "crown": scan.terms.parts["noise"]}))
        for scan in lab.scans(4, anew_um=2.0 * lab.anew_um)
    ]
    found = combined(scans, walnut)
    # four parts of variance: one is noise, one the crown's, two are neither
    assert np.median(found.neck.terms.parts["repeat"]) == pytest.approx(
        1e-3 * lab.anew_um * np.sqrt(2.0) / 2.0, rel=0.1
    )


def test_the_latest_scan_s_frame_stands(lab: Any, walnut: Instrument) -> None:
    scans = lab.scans(5)
    neck = combined(scans, walnut).neck
    off = (neck.top_mm - scans[-1].top_mm).ravel()
    x, y = lab.neck.x_mm.ravel(), lab.neck.y_mm.ravel()
    plane = np.linalg.lstsq(np.column_stack([np.ones_like(x), x / 400, y / 20]), off, rcond=None)
    assert np.max(np.abs(plane[0])) < 0.5e-3
    alone, both = (unstrung_shape(one, walnut) for one in (scans[-1], neck))
    assert both.twist_mrad == pytest.approx(alone.twist_mrad, abs=0.03)
    assert both.board_radius_mm == pytest.approx(alone.board_radius_mm, rel=1e-6)
    assert neck.arc.slope(200.0, 0.0) == pytest.approx(scans[-1].arc.slope(200.0, 0.0), abs=3e-5)
    assert np.median(both.u_top_mm) < 0.8 * np.median(alone.u_top_mm)


def test_clamping_is_averaged_and_its_scatter_counted(lab: Any, walnut: Instrument) -> None:
    """Bows of 5 µm rms, of which fret 8 stands 0.51 over the board's two ends, by hand."""
    within, off = [], []
    truth = unstrung_shape(lab.neck, walnut).top_mm
    for seed in range(40):
        rng = np.random.default_rng([seed, 7])
        scans = [lab.scan(rng, bow_mm=5e-3 * rng.normal()) for _ in range(4)]
        shape = unstrung_shape(combined(scans, walnut).neck, walnut)
        off.append(shape.top_mm[7] - truth[7])
        within.append(np.abs(off[-1]) <= 2.0 * shape.u_top_mm[7])
    expected = np.hypot(5e-3 * 0.51, 1e-3 * lab.anew_um) / np.sqrt(4)
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(expected, rel=0.2)
    assert np.mean(within) > 0.9


def test_a_lane_a_little_aside_is_moved_along_the_arc(lab: Any, walnut: Instrument) -> None:
    """0.2 mm across at 20 mm from the middle of a 300 mm radius is 13 µm of height."""
    first, latest = lab.scans(2, anew_um=0.0)
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
    assert np.max(np.abs(lab.off(found.neck))) < 0.3e-3


def test_one_scan_is_itself(lab: Any, walnut: Instrument) -> None:
    found = combined([lab.neck], walnut)
    assert found.neck is lab.neck
    assert (found.used, found.left_out, found.outliers) == ((0,), (), ())


def test_a_top_that_only_one_scan_saw(lab: Any, walnut: Instrument) -> None:
    scans = lab.scans(3)
    for scan in (0, 2):
        for name in ("top_mm", "u_top_mm"):
            getattr(scans[scan], name)[4, 2] = np.nan
        for part in scans[scan].terms.parts.values():
            part[4, 2] = np.nan
    found = combined(scans, walnut)
    assert np.isfinite(found.neck.top_mm).all()
    assert found.neck.terms.parts["noise"][4, 2] == pytest.approx(1e-3 * lab.anew_um)
    scans[1].top_mm[4, 2] = np.nan
    again = combined(scans, walnut)
    assert np.argwhere(np.isnan(again.neck.top_mm)).tolist() == [[4, 2]]


def test_a_strung_neck_is_bent_by_its_own_clamping(lab: Any, walnut: Instrument) -> None:
    """Bows of 5 µm rms in either state: of the unstrung one's nothing is left."""
    strung = lab.strung()
    truth, _ = inferred_strung_shape(strung.neck, lab.neck, walnut)
    within, frets = [], [4, 7, 10]
    for seed in range(20):
        rng = np.random.default_rng([seed, 4])
        necks = [
            combined([one.scan(rng, bow_mm=5e-3 * rng.normal()) for _ in range(4)], walnut).neck
            for one in (strung, lab)
        ]
        shape, _ = inferred_strung_shape(*necks, walnut)
        off = np.abs(shape.top_mm - truth.top_mm)[frets]
        within.append(off <= 2.0 * shape.u_top_mm[frets])
        bends = necks[0].terms.parts["clamping"].mean(axis=1)
        assert shape.terms.parts["clamping"][:, 0] == pytest.approx(bends, rel=0.05, abs=1e-4)
    assert 0.9 < np.mean(within) < 0.99
