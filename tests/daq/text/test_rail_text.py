"""What a person reads of the rail, pinned; NECKFORM_GOLDEN=write writes the pages anew."""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from calibration.profile import Profile
from calibration.rail.across import line_estimate
from calibration.rail.combine import combine_rail
from calibration.rail.estimate import estimate, independent, polynomials
from calibration.rail.surface import fit_surface
from daq.documents.calibration_rail import rail_answer
from daq.reading.rail import RailResult
from daq.reading.rail_kept import KeptEstimate
from daq.steps.calibrate_rail import RailCalibrated
from daq.text.calibration_rail import print_rail
from daq.text.console import make_console

GOLDEN = Path(__file__).parent / "golden"
X = np.arange(30.25, 230.0, 0.5)
BOW = 0.07 * ((X - 130.0) / 300.0) ** 2


def check(name: str, done: RailCalibrated) -> None:
    stream = io.StringIO()
    print_rail(make_console(stream, width=80), done)
    text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def kept(method: str, degree: int, um: float, celsius: float | None) -> KeptEstimate:
    joint = independent(np.full(X.size, 1e-3 * um))
    wave = 1e-4 * um * np.sin(X / 9.0 + degree)
    found = estimate(method, X, BOW + wave, joint, polynomials(X, degree), ("a straight line",))
    return KeptEstimate(found, "2026-06-01T10:00:00+02:00", celsius, ("001-rail.h5",))


def done(result: RailResult, alone: str | None = None) -> RailCalibrated:
    folder = Path("/shop")
    return RailCalibrated(result, {}, folder / "rail-1.json", (folder / "001-rail.h5",), alone)


def test_alone_and_blind_to_a_bow() -> None:
    one = kept("several offsets", 2, 0.4, None)
    check("rail_alone", done(RailResult(one.estimate, (one,), (), None), "strings of 2026-05-30"))


def test_joined_and_measured_at_two_temperatures() -> None:
    both = (kept("straightedge", 1, 0.3, 21.4), kept("several offsets", 2, 0.2, 27.0))
    together = combine_rail([one.estimate for one in both])
    check("rail_joined", done(RailResult(together.estimate, both, together.agreement, None)))


def test_a_surface(make_profile: Callable[..., Profile]) -> None:
    x = np.arange(30.0, 230.0, 0.125)
    rows = [
        (y, [make_profile(x, 1e-4 * y * np.sin(x / 40.0), way) for way in (1, -1)])
        for y in (-20.0, 20.0)
    ]
    surface = fit_surface(rows, (), 0.3)
    one = KeptEstimate(line_estimate(surface, 0.3), "2026-06-01T10:00:00+02:00", 20.0, ("a.h5",))
    result = done(RailResult(one.estimate, (one,), (), surface))
    check("rail_surface", result)
    answer = rail_answer(result)
    assert answer["across"]["misfit"] is None
    assert answer["across"]["to_y_mm"] == 20.0


def test_the_answer_keeps_what_it_always_said() -> None:
    one = kept("several offsets", 2, 0.4, None)
    answer = rail_answer(done(RailResult(one.estimate, (one,), (), None)))
    assert answer["kind"] == "rail"
    assert (answer["from_mm"], answer["to_mm"]) == (30.25, 229.75)
    assert (answer["file"], answer["scan"]) == ("/shop/rail-1.json", "/shop/001-rail.h5")
    assert answer["u_um"] > 10.0 > answer["u_seen_um"] == pytest.approx(0.4, rel=0.02)
    assert answer["span_um"] == pytest.approx(1e3 * np.ptp(one.estimate.r_mm), abs=0.01)
    assert answer["unseen"] == ["a straight line"]
    assert answer["agreement"] == []
