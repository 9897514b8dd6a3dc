"""Where crowns stand along the travel, and the screw that says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.crowns.places import crown_strips
from analysis.faults import NeckError
from analysis.instrument import Instrument
from calibration.screw.fit import fit_screw


def test_crowns_stand_where_the_neck_has_them(
    make_neck: Callable[..., Any], walnut: Instrument
) -> None:
    neck = make_neck(walnut)
    strips = crown_strips(neck.profiles(seed=3, lanes=[1.5, 3.5, 5.5]), walnut, 1.0, 1)
    assert len(strips) == 6
    for strip in strips:
        assert strip.fret.size >= 20
        off = strip.counted_mm - neck.nut_mm - strip.pattern_mm
        assert np.sqrt(np.mean((off / strip.u_mm) ** 2)) < 2.0
        assert np.max(np.abs(off)) < 0.03


def test_a_bow_does_not_pass_for_a_scale(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    """A round crown is highest over its middle, whatever the slope under it."""
    neck = make_neck(walnut, bow_mm=lambda x: 0.8 * ((x - 225.0) / 225.0) ** 2)
    strips = crown_strips(neck.profiles(seed=4, lanes=[1.5, 3.5, 5.5]), walnut, 1.0, 1)
    neck_x = np.concatenate([s.pattern_mm for s in strips])
    off = np.concatenate([s.counted_mm - neck.nut_mm - s.pattern_mm for s in strips])
    slope = np.polyfit(neck_x, off, 1)[0]
    assert abs(slope) < 15e-6


def test_a_screw_is_read_off_a_neck(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    """A carriage that counts 0.2 % too much: the neck looks long by that."""
    neck = make_neck(walnut, screw=1.002)
    fit = fit_screw(crown_strips(neck.profiles(lanes=[1.5, 3.5, 5.5]), walnut, 1.0, 1), 2.0)
    assert fit.screw.scale == pytest.approx(1.0 / 1.002, abs=8e-6)
    assert 20e-6 < fit.screw.u_scale < 120e-6


def test_another_scale_length_is_named(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    profiles = make_neck(walnut).profiles(lanes=[1.5, 3.5])
    wrong = replace(walnut, scale_bass_mm=628.0, scale_treble_mm=628.0)
    with pytest.raises(NeckError, match="scale_mm: the file says 628"):
        crown_strips(profiles, wrong, 1.0, 1)
