"""Several ways of mapping the rail made one."""

from __future__ import annotations

import json

import numpy as np
import pytest

from calibration.rail.combine import combine_rail
from calibration.rail.estimate import (
    RailEstimate,
    estimate,
    independent,
    long_covariance,
    polynomials,
)
from calibration.rail.map import RailError

Array = np.ndarray
X = np.arange(60.25, 360.0, 0.5)


def rail_error(x: Array) -> Array:
    return 0.05 * ((x - 200.0) / 150.0) ** 2 + 0.006 * np.sin(2.0 * np.pi * x / 90.0)


def made(
    method: str,
    seed: int,
    noise_um: float = 0.3,
    edge_um: float = 0.0,
    blind: int = 1,
    x: Array = X,
    extra: Array | float = 0.0,
) -> RailEstimate:
    """An estimate as a method would give it: noise, a straightedge's error, blind polynomials."""
    rng = np.random.default_rng(seed)
    joint = independent(np.full(x.size, 1e-3 * noise_um))
    if edge_um:
        joint = joint + long_covariance(x, 1e-3 * edge_um)
    values, modes = np.linalg.eigh(joint)
    error = modes @ (np.sqrt(np.clip(values, 0.0, None)) * rng.normal(size=x.size))
    z = rail_error(x) + extra + error + 3.0 + 0.01 * x + (blind > 1) * 1e-5 * x**2
    return estimate(method, x, z, joint, polynomials(x, blind), (f"blind to degree {blind}",))


def off_um(found: RailEstimate) -> Array:
    off = found.r_mm - rail_error(found.x_mm)
    return 1e3 * (off - np.polyval(np.polyfit(found.x_mm, off, 1), found.x_mm))


def test_equal_ones_average() -> None:
    one, two = made("one", 1), made("two", 2)
    both = combine_rail([one, two])
    np.testing.assert_allclose(both.estimate.r_mm, 0.5 * (one.r_mm + two.r_mm), rtol=0, atol=1e-8)
    np.testing.assert_allclose(both.map.u_mm, one.map().u_mm / np.sqrt(2.0), rtol=1e-3)


def test_the_bow_comes_from_the_one_that_sees_it() -> None:
    offsets = made("several offsets", 1, blind=2)
    edge = made("straightedge", 2, edge_um=2.0)
    both = combine_rail([offsets, edge])
    assert both.odd_ones == ()
    assert len(both.estimate.free) == 2
    assert both.map.u_mm.max() < 5e-3 < 0.05 < offsets.map().u_mm.max()
    # all but the bow is as good as the offsets have it
    off = off_um(both.estimate)
    assert np.std(off) < 2.5e3 * np.sqrt(np.mean(both.map.u_mm**2))
    assert np.std(off - np.polyval(np.polyfit(X, off, 2), X)) < 0.35
    assert "any of them: offset, slope" in both.estimate.unseen


def test_what_none_sees_stays_free() -> None:
    both = combine_rail([made("one", 1, blind=2), made("two", 2, blind=2)])
    assert len(both.estimate.free) == 3
    assert both.estimate.unseen[-1].endswith("offset, slope, bow (parabola)")


def test_the_better_one_weighs_more() -> None:
    both = combine_rail([made("good", 1, 0.2), made("poor", 2, 2.0)])
    assert np.std(off_um(both.estimate)) < 0.25


def test_maps_of_two_halves_are_joined() -> None:
    left, right = made("left", 1, x=X[:350]), made("right", 2, x=X[250:])
    both = combine_rail([left, right])
    assert both.estimate.x_mm.size == X.size
    assert np.std(off_um(both.estimate)) < 3.0 * 1e3 * np.median(both.map.u_mm)
    with pytest.raises(RailError, match="right shares no stretch of rail"):
        combine_rail([left, made("right", 2, x=X[345:])])


def test_those_that_agree() -> None:
    both = combine_rail([made(str(k), k, edge_um=1.0) for k in range(3)])
    assert both.odd_ones == ()
    both.require_agreement()
    for one in both.agreement:
        assert one.chi2 == pytest.approx(one.dof, rel=0.2)
        assert one.dof == X.size - 2


def test_chi_square_is_one() -> None:
    """Over many draws the long chi-square has the mean of its degrees of freedom."""
    found = [
        combine_rail([made("a", 3 * k, edge_um=1.0, x=X[:200]), made("b", 3 * k + 1, x=X[:200])])
        for k in range(40)
    ]
    long = np.array([one.agreement[0].long_chi2 for one in found])
    dof = found[0].agreement[0].long_dof
    # the mean of 40 chi-squares of 11: sd 0.74
    assert np.mean(long) == pytest.approx(dof, abs=2.5)


def test_a_map_of_another_rig_is_named() -> None:
    other = made("old map", 3, extra=0.02 * np.sin(X / 30.0))
    three = combine_rail([made("straightedge", 1, edge_um=2.0), other, made("strings", 2)])
    assert three.odd_ones[0] == "old map"
    assert three.named
    with pytest.raises(RailError, match=r"^old map disagrees with the rest, which agree: \d"):
        three.require_agreement()


def test_a_bend_under_the_noise_of_the_cells_is_seen() -> None:
    """1 um over the whole rail hides in 600 cells of 2 um; along the long shapes it does not."""
    bent = made("bent", 2, 2.0, extra=0.0015 * np.sin(2.0 * np.pi * X / 300.0))
    pair = combine_rail([made("good", 1, 2.0), bent])
    assert set(pair.odd_ones) == {"good", "bent"}
    assert not pair.named
    worst = pair.agreement[0]
    assert worst.chi2 < worst.dof + 5.0 * np.sqrt(2.0 * worst.dof)
    with pytest.raises(RailError, match="disagree: "):
        pair.require_agreement()


def test_nothing_to_combine() -> None:
    with pytest.raises(RailError, match="nothing to combine"):
        combine_rail([])


def test_document_and_back_combines_alike() -> None:
    offsets, edge = made("several offsets", 1, blind=2), made("straightedge", 2, edge_um=2.0)
    stored = RailEstimate.from_document(json.loads(json.dumps(edge.to_document())))
    np.testing.assert_allclose(stored.u_seen_mm, edge.u_seen_mm, rtol=1e-3)
    assert stored.unseen == edge.unseen
    fresh, again = combine_rail([offsets, edge]).map, combine_rail([offsets, stored]).map
    np.testing.assert_allclose(again.r_mm, fresh.r_mm, atol=1e-5)
    np.testing.assert_allclose(again.u_mm, fresh.u_mm, rtol=0.01)
    with pytest.raises(ValueError, match="found numbers of shape"):
        RailEstimate.from_document({**edge.to_document(), "free": [[1.0]]})
