"""The rail from taut strings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.map import RailError
from calibration.rail.strings import TautString, fit_strings

Array = np.ndarray
MakeProfile = Callable[..., Profile]
#: low E of a 641 mm neck, about; sag of 18 um at a tension lower than that of any tuned string
HEAVY = TautString(6, 61.0, 702.0, 6.8e-3, 190.0)
LIGHT = TautString(1, 61.0, 702.0, 4.0e-4, 73.0)


def rail_error(x: Array) -> Array:
    return 0.07 * ((x - 310.0) / 300.0) ** 2 + 0.006 * np.sin(2.0 * np.pi * x / 130.0)


def lane(
    make: MakeProfile, string: TautString, seed: int, extra: Callable[[Array], Array] | None = None
) -> list[Profile]:
    rng = np.random.default_rng(seed)
    made = []
    for k in range(4):
        x = np.arange(2.0, 616.0, 0.0625)
        s, length = x - string.nut_mm, string.saddle_mm - string.nut_mm
        # the textbook's parabola, in N/mm
        weight = string.mass_kg_per_m * 9.80665e-3
        z = 9.0 + 0.004 * x - weight * s * (length - s) / (2.0 * string.tension_n)
        z = z + rail_error(x) + (extra(x) if extra else 0.0) + rng.normal(0.0, 0.002, x.size)
        made.append(make(x, np.where((x > 64.0) & (x < 590.0), z, np.nan), 1 if k % 2 else -1))
    return made


def off_um(x: Array, r: Array) -> Array:
    off = r - rail_error(x)
    return 1e3 * (off - np.polyval(np.polyfit(x, off, 1), x))


def test_sag_is_undone(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    assert -1e3 * HEAVY.sag_mm(np.array([381.5]))[0] == pytest.approx(18.02, abs=0.01)
    found = fit_strings([(HEAVY, lane(make_profile, HEAVY, 1))], pads, 0.3)
    assert np.std(off_um(found.x_mm, found.r_mm)) < 0.5
    stiff = replace(HEAVY, tension_n=1e6)
    without = fit_strings([(stiff, lane(make_profile, HEAVY, 1))], pads, 0.3)
    assert np.std(off_um(without.x_mm, without.r_mm)) > 3.0


def test_strings_together_are_better(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    lanes = [(s, lane(make_profile, s, k)) for k, s in enumerate((LIGHT, HEAVY))]
    one, two = (fit_strings(some, pads, 1.0) for some in (lanes[:1], lanes))
    assert two.method == "strings"
    assert np.std(off_um(two.x_mm, two.r_mm)) < 0.5
    assert np.median(two.u_seen_mm) < 0.8 * np.median(one.u_seen_mm)


def test_a_tension_in_doubt_widens(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    sure, unsure = (replace(HEAVY, u_sag_share=share) for share in (0.0, 0.3))
    passes = lane(make_profile, HEAVY, 1)
    u = [fit_strings([(s, passes)], pads, 0.1).u_seen_mm.max() for s in (sure, unsure)]
    assert u[1] > u[0] + 1e-3


def test_a_string_that_is_bent_is_named(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    bent = lane(make_profile, LIGHT, 2, lambda x: 0.02 * np.sin(np.pi * x / 250.0))
    lanes = [(LIGHT, lane(make_profile, LIGHT, 1)), (replace(LIGHT, number=2), bent)]
    with pytest.raises(RailError, match="string 1 and string 2 disagree"):
        fit_strings(lanes, pads, 0.5)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"mass_kg_per_m": 0.0}, "string 6: mass: found 0; allowed: over 0"),
        ({"tension_n": -3.0}, "string 6: tension: found -3"),
        ({"saddle_mm": 10.0}, "the saddle must lie beyond the nut"),
        ({"nut_mm": 400.0}, "most readings lie outside 400 to 702"),
    ],
)
def test_senseless_strings(
    change: dict, says: str, make_profile: MakeProfile, pads: tuple[Pad, ...]
) -> None:
    with pytest.raises(RailError, match=says):
        fit_strings([(replace(HEAVY, **change), lane(make_profile, HEAVY, 1))], pads, 0.3)


def test_no_string_there(make_profile: MakeProfile, pads: tuple[Pad, ...]) -> None:
    empty = [replace(p, ok=np.zeros_like(p.ok)) for p in lane(make_profile, HEAVY, 1)]
    with pytest.raises(RailError, match="string 6: no valid reading at all"):
        fit_strings([(HEAVY, empty)], pads, 0.3)
    with pytest.raises(RailError, match="scan at least one string"):
        fit_strings([], pads, 0.3)
