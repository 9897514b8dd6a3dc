"""Frets a scan did not go to are outside it; a fret it went over and did not find is not seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from analysis.instrument import Instrument
from analysis.neck.neck import Tip, read_neck
from analysis.neck.tops import tops_along
from calibration.profile import Profile


def from_mid_neck(one: Profile) -> Profile:
    on = one.x_mm > 235.0
    return replace(
        one, x_mm=one.x_mm[on], y_mm=one.y_mm[on], z_mm=one.z_mm[on], ok=one.ok[on],
        u_rail_mm=one.u_rail_mm[on],
    )  # fmt: skip


def test_outside_and_not_seen(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    profiles = make_neck(walnut, hidden=(9,)).profiles(lanes=[1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    neck = read_neck([from_mid_neck(p) for p in profiles], walnut, Tip(1.0))
    tops = tops_along(neck, walnut, walnut.string_numbers)
    first = int(np.argmax(61.0 + walnut.fret_x_mm(np.arange(1, 23), 1.0) > 236.5))
    assert (tops.status[:first] == "outside the scan").all()
    assert np.isnan(tops.z_mm[:first]).all()
    assert (tops.status[8] == "not seen: no crown, or too few readings").all()
    assert (np.delete(tops.status[first:], 8 - first, axis=0) == "ok").all()
