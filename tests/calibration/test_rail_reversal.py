"""The rail from a straightedge reversed, over and end for end."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.map import RailError
from calibration.rail.reversal import Reversal, fit_reversal

Array = np.ndarray
MakeProfile = Callable[..., Profile]
LOW, HIGH = 40.0, 580.0
MIDDLE = 0.5 * (LOW + HIGH)


def rail_error(x: Array) -> Array:
    return 0.07 * ((x - 310.0) / 300.0) ** 2 + 0.006 * np.sin(2.0 * np.pi * x / 130.0)


def bow(x: Array) -> Array:
    return 0.004 * ((x - MIDDLE) / 270.0) ** 2


def odd(x: Array) -> Array:
    return 0.003 * np.sin(np.pi * (x - MIDDLE) / 270.0)


def level(x: Array, values: Array) -> Array:
    return values - np.polyval(np.polyfit(x, values, 1), x)


def rms_um(values: Array) -> float:
    return 1e3 * float(np.sqrt(np.mean(values**2)))


def scan(
    make: MakeProfile,
    edge: Callable[[Array], Array],
    seed: int,
    low: float = LOW,
    high: float = HIGH,
) -> list[Profile]:
    rng = np.random.default_rng(seed)
    height, tilt = rng.normal(18.0, 0.2), rng.normal(0.0, 1e-4)
    made = []
    for k in range(4):
        x = np.arange(2.0, 616.0, 0.0625) + 0.06 * rng.uniform()
        z = rail_error(x) + edge(x) + height + tilt * x + rng.normal(0.0, 0.002, x.size)
        made.append(make(x, np.where((x > low) & (x < high), z, np.nan), 1 if k % 2 else -1))
    return made


def both(x: Array) -> Array:
    return bow(x) + odd(x)


@pytest.fixture(scope="module")
def over(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> Reversal:
    turned = scan(make_profile, lambda x: -both(x), 2)
    return fit_reversal(scan(make_profile, both, 1), turned, pads, "over", 3.0)


@pytest.fixture(scope="module")
def ends(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> Reversal:
    turned = scan(make_profile, lambda x: both(2.0 * MIDDLE - x), 2)
    return fit_reversal(scan(make_profile, both, 1), turned, pads, "ends", 3.0)


def test_over_separates_everything(over: Reversal) -> None:
    x = over.edge_x_mm
    assert rms_um(level(x, over.rail.r_mm - rail_error(x))) < 0.4
    assert rms_um(level(x, over.edge_mm - both(x))) < 0.4
    assert over.edge_part == "whole"
    assert over.check.verdict == "turned"
    # nothing of the straightedge is left in the uncertainty
    assert np.median(over.rail.u_seen_mm) == pytest.approx(0.25e-3, rel=0.1)


def test_ends_separate_the_odd_part(ends: Reversal) -> None:
    x = ends.edge_x_mm
    assert rms_um(level(x, ends.edge_mm - odd(x))) < 0.4
    assert ends.edge_part == "odd about its middle"
    # the bow stays, and u says so
    left = level(x, ends.rail.r_mm - rail_error(x))
    assert rms_um(left - level(x, bow(x))) < 0.4
    assert 1.0 < 1e3 * np.median(ends.rail.u_seen_mm) < 3.0
    assert any("bow above all" in word for word in ends.rail.unseen)


@pytest.mark.parametrize("way", ["over", "ends"])
def test_a_scan_that_was_not_reversed(
    way: str, make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    again = scan(make_profile, both, 2)
    with pytest.raises(RailError, match=r"was not reversed.*log likelihood ratio -"):
        fit_reversal(scan(make_profile, both, 1), again, pads, way, 3.0)


def test_a_good_straightedge_is_not_accused(
    make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    """0.1 um of error as stated: the scans cannot show whether it was turned."""
    found = fit_reversal(
        scan(make_profile, lambda x: 0.02 * odd(x), 1),
        scan(make_profile, lambda x: -0.02 * odd(x), 2),
        pads,
        "ends",
        0.1,
    )
    assert found.check.verdict == "undecided"
    assert any("too little to show" in word for word in found.rail.unseen)


def test_an_even_difference_is_named(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    found = fit_reversal(
        scan(make_profile, both, 1),
        scan(make_profile, lambda x: 2.0 * bow(x) - odd(x), 2),
        pads,
        "ends",
        0.5,
    )
    assert found.check.uneven_p < 1e-4
    assert any("which turning end for end cannot make" in word for word in found.rail.unseen)
    # 1 um of bow in half the difference, zero where its straight line crosses it
    assert np.max(found.rail.u_seen_mm) > 1e-3


def test_moved_on_turning(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    there = scan(make_profile, both, 2, LOW + 15.0, HIGH + 15.0)
    with pytest.raises(RailError, match=r"middle was at 310\.\d mm and, turned, at 325\.\d mm"):
        fit_reversal(scan(make_profile, both, 1), there, pads, "ends", 3.0)


def test_no_stretch_shared(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    left, right = (
        scan(make_profile, both, k, *span) for k, span in enumerate([(40, 300), (280, 580)])
    )
    with pytest.raises(RailError, match="turn it in its place"):
        fit_reversal(left, right, pads, "over", 3.0)


def test_which_scan_shows_nothing(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    with pytest.raises(RailError, match="reversed scan: the longest even surface"):
        fit_reversal(
            scan(make_profile, both, 1), scan(make_profile, both, 2, 50, 100), pads, "over", 3.0
        )
