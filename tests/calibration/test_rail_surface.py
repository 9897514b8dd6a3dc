"""The rail's error over x and y, and both kinds of rail in the chain."""

from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np
import pytest

from calibration.correct import correct
from calibration.passes import Pad, RawPass
from calibration.profile import Profile
from calibration.rail.map import RailError, RailMap
from calibration.rail.surface import RailSurface, fit_surface

Array = np.ndarray
MakeProfile = Callable[..., Profile]
Y = (-25.0, -8.0, 9.0, 25.0)


def along(x: Array) -> Array:
    return 0.07 * ((x - 310.0) / 300.0) ** 2


def roll(x: Array) -> Array:
    return 3e-4 * np.sin(2.0 * np.pi * x / 400.0)


def curve(x: Array) -> Array:
    return 1e-5 * np.cos(2.0 * np.pi * x / 300.0)


def rows(
    make: MakeProfile, ys: tuple[float, ...], bend: float = 0.0
) -> list[tuple[float, list[Profile]]]:
    rng = np.random.default_rng(5)
    made = []
    for y in ys:
        height, tilt = rng.normal(0.0, 0.2), rng.normal(0.0, 1e-4)
        passes = []
        for k in range(4):
            x = np.arange(40.0, 580.0, 0.0625)
            z = along(x) + y * roll(x) + bend * y**2 * curve(x) + height + tilt * x
            passes.append(make(x, z + rng.normal(0.0, 0.002, x.size), 1 if k % 2 else -1))
        made.append((y, passes))
    return made


def off_um(found: RailSurface, y: float, bend: float = 0.0) -> Array:
    x = found.x_mm
    value, _ = found.at(x, np.full(x.size, y))
    off = value - along(x) - y * roll(x) - bend * y**2 * curve(x)
    return 1e3 * (off - np.polyval(np.polyfit(x, off, 1), x))


def test_roll_between_the_rows(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    found = fit_surface(rows(make_profile, (-25.0, 0.0, 25.0)), pads, 0.0)
    for y in (-25.0, -13.0, 4.0, 25.0):
        assert np.std(off_um(found, y)) < 0.5
    assert found.misfit == pytest.approx(1.0, abs=0.15)


def test_two_rows_have_nothing_left_to_check(
    make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    found = fit_surface(rows(make_profile, (-20.0, 20.0)), pads, 0.0)
    assert np.isnan(found.misfit)
    assert np.std(off_um(found, 0.0)) < 0.5


def test_curve_needs_and_gets_four_rows(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    bent = rows(make_profile, Y, bend=1.0)
    assert np.std(off_um(fit_surface(bent, pads, 0.0, curved=True), 17.0, 1.0)) < 0.5
    flat = fit_surface(bent, pads, 0.0)
    # the rows do not fit a plain roll: told, and in the uncertainty
    assert flat.misfit > 10.0
    assert flat.at(flat.x_mm, 0.0 * flat.x_mm)[1].min() > 0.5e-3
    with pytest.raises(
        RailError, match="found 3 rows of their own; a curve across needs at least 4"
    ):
        fit_surface(bent[:3], pads, 0.0, curved=True)


def test_the_straightedge_stays_in_the_middle(
    make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    found = fit_surface(rows(make_profile, (-20.0, 20.0)), pads, 2.0)
    assert np.all(found.at(found.x_mm, 0.0 * found.x_mm)[1] > 2e-3)
    # the same straightedge in both rows tells nothing false of the roll
    assert np.sqrt(found.covariance[:, 1, 1]).max() * 20.0 < 1e-3


def test_outside_it_is_not_known(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    found = fit_surface(rows(make_profile, (-20.0, 20.0)), pads, 0.0)
    value, u = found.at(np.array([300.0, 300.0]), np.array([20.0, 30.0]))
    assert value[0] == value[1]
    assert u[1] - u[0] == pytest.approx(0.010, abs=1e-12)


def test_rows_refused(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    made = rows(make_profile, (0.0, 20.0))
    with pytest.raises(RailError, match="found 1 rows of their own; roll needs at least 2"):
        fit_surface(made[:1], pads, 0.0)
    with pytest.raises(RailError, match="found 1 rows"):
        fit_surface([made[0], (1.0, made[1][1])], pads, 0.0)
    nothing = make_profile(np.arange(40.0, 80.0, 0.1), np.zeros(400))
    with pytest.raises(RailError, match="row at y = 20 mm: the longest even surface is"):
        fit_surface([made[0], (20.0, [nothing])], pads, 0.0)


@pytest.mark.parametrize("curved", [False, True])
def test_document_and_back(curved: bool, make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    found = fit_surface(rows(make_profile, Y), pads, 1.0, curved)
    again = RailSurface.from_document(json.loads(json.dumps(found.to_document())))
    at = (np.array([100.0, 333.3, 700.0]), np.array([-20.0, 3.0, 40.0]))
    np.testing.assert_allclose(again.at(*at), found.at(*at), rtol=1e-12)
    assert again.misfit == found.misfit


@pytest.mark.parametrize(
    ("change", "error"),
    [({"roll_um_per_mm": [0.0]}, ValueError), ({"x_mm": [2.0, 1.0]}, ValueError)],
)
def test_damaged_documents(
    change: dict, error: type[Exception], make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    document = fit_surface(rows(make_profile, (-20.0, 20.0)), pads, 0.0).to_document()
    with pytest.raises(error):
        RailSurface.from_document({**document, **change})
    del document["r_um"]
    with pytest.raises(KeyError):
        RailSurface.from_document(document)


def test_map_document_and_back() -> None:
    x = np.arange(0.0, 600.0, 0.5)
    rail = RailMap(x, along(x), np.full(x.size, 0.001))
    document = json.loads(json.dumps(rail.to_document()))
    assert set(document) == {"x_mm", "r_um", "u_um"}
    again = RailMap.from_document(document)
    np.testing.assert_allclose(again.r_mm, rail.r_mm, rtol=1e-12)
    with pytest.raises(ValueError, match="found numbers of shape"):
        RailMap.from_document({**document, "u_um": [1.0]})


def test_the_chain_takes_off_roll_at_the_lane(
    make_pass: Callable[..., RawPass], make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    surface = fit_surface(rows(make_profile, (-20.0, 20.0)), pads, 0.0)
    one = make_pass(lambda x: along(x) + 15.0 * roll(x))
    one.y_mm[:] = 15.0
    (profile,) = correct([one], (), 0.001, None, surface)
    inside = (profile.x_mm > 45.0) & (profile.x_mm < 575.0)
    x, z = profile.x_mm[inside], profile.z_mm[inside]
    assert np.std(z - np.polyval(np.polyfit(x, z, 1), x)) < 0.5e-3


def test_on_a_row_it_is_as_good_as_the_row(
    make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    """r and roll err together where the rows lie to one side: between them u falls by root 2."""
    found = fit_surface(rows(make_profile, (0.0, 20.0)), pads, 0.0)
    u = [np.median(found.at(found.x_mm, np.full(found.x_mm.size, y))[1]) for y in (0.0, 10.0, 20.0)]
    assert u[0] == pytest.approx(0.002 / np.sqrt(32.0), rel=0.05)
    assert u[2] == pytest.approx(u[0], rel=0.05)
    assert u[1] == pytest.approx(u[0] / np.sqrt(2.0), rel=0.05)
