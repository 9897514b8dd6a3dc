"""Two necks are told apart, one is never taken for two."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.faults import NeckError
from analysis.findings.fingerprint import PLACES_MM, check_one_neck, likeness
from analysis.instrument import Instrument
from analysis.neck.neck import Neck, Tip, read_neck

MakeNeck = Callable[..., Any]


@pytest.fixture(scope="module")
def plain(make_neck: MakeNeck, walnut: Instrument) -> tuple[Neck, Neck]:
    """Frets that all stand true and alike; unstrung, and strung, shifted, turned on the rig."""
    loose = make_neck(walnut)
    strung = replace(
        loose,
        bow_mm=lambda x: 0.4 * ((x - 225.0) / 225.0) ** 2 + 0.5 - 0.001 * x,
        twist_mrad_per_mm=0.003,
        nut_mm=loose.nut_mm + 0.4,
        screw=1.0004,
    )
    lanes = loose.lanes(strung=True)
    first, second = (
        read_neck(one.profiles(seed=seed, lanes=lanes), walnut, Tip(1.0))
        for seed, one in enumerate((loose, strung))
    )
    return first, second


def own(neck: Neck, seed: int, places_mm: float = 0.02, heights_mm: float = 0.015) -> Neck:
    """With frets seated by somebody: 0.02 mm along, 0.015 mm up and down (common practice, no
    source). The same seed is the same neck."""
    rng = np.random.default_rng(seed)
    along = rng.normal(0.0, places_mm, (neck.x_mm.shape[0], 1))
    up = rng.normal(0.0, heights_mm, along.shape)
    return replace(
        neck,
        apex_x_mm=neck.apex_x_mm + along,
        top_mm=neck.top_mm + up,
        height_mm=neck.height_mm + up,
    )


def filed(neck: Neck, depth_mm: np.ndarray, moved_mm: np.ndarray | float = 0.0) -> Neck:
    depth = depth_mm[:, None]
    return replace(
        neck,
        apex_x_mm=neck.apex_x_mm + np.reshape(moved_mm, (-1, 1)),
        top_mm=neck.top_mm - depth,
        height_mm=neck.height_mm - depth,
    )


def test_one_neck_in_two_states_is_one(plain: tuple[Neck, Neck]) -> None:
    for seed in range(20):
        one, other = (own(neck, seed) for neck in plain)
        check_one_neck(one, other)
        found = likeness(one, other)
        assert found.places_mm < 0.25 * PLACES_MM
        assert found.own_mm > PLACES_MM
        assert found.higher <= 1
        assert found.lower <= 1


def test_two_necks_are_two(plain: tuple[Neck, Neck]) -> None:
    told = [
        likeness(own(plain[0], a), own(plain[1], b)).one_neck(filed=False)
        for a in range(15)
        for b in range(15)
        if a != b
    ]
    assert np.mean(told) < 0.01


def test_what_differs_is_said(plain: tuple[Neck, Neck]) -> None:
    with pytest.raises(NeckError) as error:
        check_one_neck(own(plain[0], 1), own(plain[1], 2))
    said = str(error.value)
    assert said.startswith("these two scans do not show the same neck: ")
    found = likeness(own(plain[0], 1), own(plain[1], 2))
    assert f"{found.places_mm:.3f} mm elsewhere" in said
    assert f"{found.higher} frets are higher over the board and {found.lower} lower" in said
    assert "\n" not in said


@pytest.mark.parametrize("later", [True, False])
def test_a_cut_makes_no_other_neck(plain: tuple[Neck, Neck], later: bool) -> None:
    """Any share of the frets lowered by up to 0.1 mm, whichever scan came first."""
    rng = np.random.default_rng(3)
    for seed in range(30):
        depth = rng.uniform(0.0, 0.1, 22) * (rng.uniform(size=22) < rng.uniform())
        one, other = own(plain[0], seed), filed(own(plain[1], seed), depth)
        check_one_neck(*((one, other) if later else (other, one)))
        check_one_neck(*((one, other) if later else (other, one)), filed=True)


def test_crowning_that_moves_every_apex_is_a_cut_where_one_was_made(
    plain: tuple[Neck, Neck],
) -> None:
    rng = np.random.default_rng(4)
    for seed in range(30):
        recrowned = filed(own(plain[1], seed), rng.uniform(0.01, 0.1, 22), rng.normal(0, 0.03, 22))
        check_one_neck(own(plain[0], seed), recrowned, filed=True)


def test_another_neck_is_told_after_a_cut_too(plain: tuple[Neck, Neck]) -> None:
    with pytest.raises(NeckError, match="do not show the same neck"):
        check_one_neck(own(plain[0], 1), own(plain[1], 2), filed=True)


def test_loose_frets_make_no_other_neck(plain: tuple[Neck, Neck]) -> None:
    one = own(plain[0], 5)
    sprung = filed(own(plain[1], 5), np.where(np.arange(22) % 6 == 0, -0.2, 0.0))
    check_one_neck(one, sprung)


def test_frets_that_all_stand_true_are_told_by_height(plain: tuple[Neck, Neck]) -> None:
    """Cut by machine: places say nothing; one neck is one, another is another."""
    true = {"places_mm": 0.001}
    check_one_neck(own(plain[0], 6, **true), own(plain[1], 6, **true))
    with pytest.raises(NeckError):
        check_one_neck(own(plain[0], 6, **true), own(plain[1], 7, **true))
    depth = np.where(np.arange(22) % 2, 0.05, 0.0)
    check_one_neck(own(plain[0], 6, **true), filed(own(plain[1], 6, **true), depth))


def test_too_few_frets_say_nothing(plain: tuple[Neck, Neck]) -> None:
    one, other = own(plain[0], 1), own(plain[1], 2)
    hidden = one.top_mm.copy()
    hidden[7:] = np.nan
    few = replace(one, top_mm=hidden, height_mm=one.height_mm + 0.0 * hidden)
    assert likeness(few, other).frets == 7
    check_one_neck(few, other)
