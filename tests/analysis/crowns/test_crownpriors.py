"""What crowns say of one another: flats, radii, noise."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.crowns.flats import commonness, nearness
from analysis.crowns.grid import FLATS_MM
from analysis.crowns.radius import bend_from_others


def likelihood(flat: np.ndarray, u_depth_mm: float = 0.0005) -> np.ndarray:
    """As of crowns that tell their flat's depth on a radius of 1.2 mm to u, without an error."""
    depth = FLATS_MM[:, None] ** 2 / 9.6 - flat**2 / 9.6
    return np.exp(-0.5 * (depth / u_depth_mm) ** 2)


def everywhere(count: int) -> np.ndarray:
    return np.ones((count, count))


def test_a_chance_is_a_chance() -> None:
    common = commonness(likelihood(np.linspace(0.0, 0.8, 30)), everywhere(30))
    np.testing.assert_allclose(common.sum(axis=0), 1.0, rtol=1e-9)
    assert np.all(common >= 0.0)


def test_crowns_all_whole_are_learnt() -> None:
    common = commonness(likelihood(np.zeros(144)), everywhere(144))
    assert common[0].min() > 0.95


def test_crowns_all_worn_alike_are_learnt() -> None:
    """Flats of 0.1 mm lie 1 um deep: two deviations here for each, plenty for 144."""
    common = commonness(likelihood(np.full(144, 0.1)), everywhere(144))
    assert common[0].max() < 0.15
    assert common[(FLATS_MM > 0.05) & (FLATS_MM < 0.15)].sum(axis=0).min() > 0.8


def test_one_crown_says_little() -> None:
    one = commonness(likelihood(np.array([0.4]), 0.0002), everywhere(1))[:, 0]
    assert one[0] > 0.3
    assert one[FLATS_MM > 0.5].sum() > 0.03


def test_wear_is_looked_for_nearby() -> None:
    fret, string = np.repeat(np.arange(20), 2), np.tile([1.0, 1.5], 20)
    worn = (string == 1.0) & (fret < 6)
    near = nearness(fret, string)
    assert near[0, 1] == 0.0
    np.testing.assert_array_equal(np.diag(near), 1.0)
    whole = commonness(likelihood(np.where(worn, 0.3, 0.0)), near)[0]
    # at the region's edge half of the neighbours are whole
    assert whole[worn & (fret < 3)].max() < 0.4
    assert whole[worn].max() < 0.6
    assert whole[string == 1.5].min() > 0.8
    assert whole[(string == 1.0) & (fret > 14)].min() > 0.8


def test_radii_of_a_fret_are_alike() -> None:
    rng = np.random.default_rng(5)
    fret = np.repeat(np.arange(20), 10)
    true = 0.45 + rng.normal(0.0, 0.02, 20)[fret]
    noise = 0.006
    seen = true + rng.normal(0.0, noise, 200)
    var = np.full(200, noise**2)
    prior = bend_from_others(seen, var, np.zeros(200), fret, 0.45, 0.2)
    assert np.std(prior.mean - true) < 0.6 * noise
    # no two radii of a fret differ here; as much as 200 crowns cannot rule out is allowed for
    assert 0.5 < np.std((prior.mean - true) / prior.spread) < 1.2
    # what a crown says itself is not in its own prior
    moved = seen.copy()
    moved[3] += 0.05
    again = bend_from_others(moved, var, np.zeros(200), fret, 0.45, 0.2)
    assert again.mean[3] == pytest.approx(prior.mean[3], abs=2e-4)
    assert again.mean[4] > prior.mean[4] + 2e-3


def test_a_fret_filed_flat_is_not_believed_to_be_rounder() -> None:
    """What not knowing the flat makes of a curvature is the same under every string."""
    fret = np.repeat(np.arange(20), 10)
    seen = np.where(fret == 7, 0.40, 0.45)
    var, flat = np.full(200, 0.003**2), np.where(fret == 7, 0.03**2, 1e-8)
    unsure = bend_from_others(seen, var, flat, fret, 0.45, 0.2)
    sure = bend_from_others(seen, var, np.full(200, 1e-8), fret, 0.45, 0.2)
    assert unsure.spread[70] > 2.0 * sure.spread[70]
    assert unsure.mean[70] > sure.mean[70] + 0.01


def test_a_crown_alone_on_its_fret_leans_on_the_scan() -> None:
    seen = np.array([0.44, 0.45, 0.46, 0.6])
    prior = bend_from_others(
        seen, np.full(4, 1e-5), np.zeros(4), np.arange(4), share_of=0.45, widest=0.2
    )
    np.testing.assert_allclose(prior.mean, np.median(seen))
