"""Lanes beside the crest of a round string."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.crest import RoundString, find_crest, is_found
from calibration.rail.map import RailError

Array = np.ndarray
MakeProfile = Callable[..., Profile]
STRING = RoundString(1, 0.127, (61.0, 18.0), (702.0, 26.0))
X = np.arange(70.0, 595.0, 0.0625)


def lanes(
    make: MakeProfile, nut_off: float, saddle_off: float, place: RoundString = STRING
) -> list[list[Profile]]:
    """Two lanes a radius apart over a string that lies beside its place."""
    rng = np.random.default_rng(4)
    share = (X - 61.0) / 641.0
    middle = place.from_mm[1] + share * (place.to_mm[1] - place.from_mm[1])
    centre = middle + nut_off + share * (saddle_off - nut_off)
    made = []
    for aside in (-0.0635, 0.0635):
        y = middle + aside
        away = y - centre
        with np.errstate(invalid="ignore"):
            z = 9.0 + 0.003 * np.sin(X / 30.0) - 0.127 + np.sqrt(0.127**2 - away**2)
        passes = [make(X, z + rng.normal(0.0, 0.0015, X.size), way) for way in (1, -1)]
        made.append([replace(p, y_mm=y) for p in passes])
    return made


@pytest.mark.parametrize(("nut", "saddle"), [(0.0, 0.0), (0.04, -0.03), (-0.05, -0.02)])
def test_the_crest_is_found(
    nut: float, saddle: float, make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    found = find_crest(STRING, lanes(make_profile, nut, saddle), pads)
    assert (found.from_mm[0], found.to_mm[0]) == (61.0, 702.0)
    assert found.from_mm[1] - 18.0 == pytest.approx(nut, abs=2e-4)
    assert found.to_mm[1] - 26.0 == pytest.approx(saddle, abs=2e-4)
    # a lane that is this much aside reads a string flat within a hundredth of a micrometre
    assert found.drop_mm(np.array([2e-4]))[0] < 1e-5


def test_a_string_far_aside_is_come_to_in_steps(
    make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    """Lanes that miss the string read the board far below it."""
    string, steps = STRING, 0
    while True:
        nut_off, saddle_off = 18.12 - string.from_mm[1], 26.07 - string.to_mm[1]
        scanned = [
            [
                replace(p, z_mm=np.where(np.isnan(p.z_mm), 3.0, p.z_mm), ok=np.ones_like(p.ok))
                for p in lane
            ]
            for lane in lanes(make_profile, nut_off, saddle_off, string)
        ]
        before, string = string, find_crest(string, scanned, pads)
        steps += 1
        assert steps < 5
        if is_found(before, string):
            break
    assert steps > 1
    assert string.from_mm[1] == pytest.approx(18.12, abs=5e-4)
    assert string.to_mm[1] == pytest.approx(26.07, abs=5e-4)


def test_no_string(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    scanned = lanes(make_profile, 0.0, 0.0)
    gone = [[replace(p, ok=np.zeros_like(p.ok)) for p in lane] for lane in scanned]
    with pytest.raises(RailError, match="string 1: no valid reading at all"):
        find_crest(STRING, gone, pads)
    with pytest.raises(RailError, match="found 1 lanes"):
        find_crest(STRING, scanned[:1], pads)
    with pytest.raises(RailError, match="string 1: two lanes along it share 10 cells"):
        find_crest(replace(STRING, to_mm=(75.0, 19.0)), scanned, pads)
