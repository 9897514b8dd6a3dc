"""Rail maps as they are kept: back as they were, this rig's only, and growing old visibly."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from calibration.passes import Pad
from calibration.profile import Profile
from calibration.rail.across import line_estimate
from calibration.rail.combine import combine_rail
from calibration.rail.estimate import RailEstimate, estimate, independent, polynomials
from calibration.rail.map import RailMap
from calibration.rail.sums import RailSums
from calibration.rail.surface import RailSurface, fit_surface
from daq.errors import FileError, InputError
from daq.files.rig import RigFile, parse_rig
from daq.reading.age import age_days, age_words, is_old
from daq.reading.found import Found, built
from daq.reading.rail import (
    RailResult,
    across_of,
    kept_estimates,
    line_sums_of,
    rail_document,
    rail_of,
)
from daq.reading.rail_kept import KeptEstimate, packed, unpacked
from daq.reading.rail_words import rail_words, require_fit
from daq.record.scan import Scan
from daq.wire.records import ABSENT
from daq.workshop.calibrations import CalibrationStore

MADE = "2026-06-01T10:00:00+02:00"
RIG = """\
name: bench-rail
links:
  rig: {port: /dev/fake, baud: 460800, protocol: line}
carriage:
  link: rig
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 640]
  speed_mm_s: 25
sensor: {link: rig, kind: contact, mm_per_count: 0.001, rate_hz: 400, tip_radius_mm: 1.0}
pads:
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 600, to_mm: 614}
"""
X = np.arange(30.25, 250.0, 0.5)
BOW = 0.07 * ((X - 310.0) / 300.0) ** 2 + 0.006 * np.sin(X / 20.0)


@pytest.fixture
def rig() -> RigFile:
    return parse_rig(RIG, "rig.yaml")


def one(method: str, degree: int, seed: int) -> KeptEstimate:
    noise = np.random.default_rng(seed).normal(0.0, 3e-4, X.size)
    joint = independent(np.full(X.size, 3e-4))
    found = estimate(method, X, BOW + noise, joint, polynomials(X, degree), ("something",))
    return KeptEstimate(found, MADE, 21.4, (f"00{seed}-rail.h5",))


def kept(document: dict[str, object]) -> dict[str, Any]:
    """Through the text it is kept as."""
    return cast(dict[str, Any], json.loads(json.dumps(document)))


@pytest.fixture(scope="module")
def joined() -> RailResult:
    both = (one("straightedge", 1, 1), one("several offsets", 2, 2))
    together = combine_rail([each.estimate for each in both])
    return RailResult(together.estimate, both, together.agreement, None)


def same(one: RailEstimate, other: RailEstimate) -> None:
    np.testing.assert_allclose(one.x_mm, other.x_mm, atol=1e-4)
    np.testing.assert_allclose(one.r_mm, other.r_mm, atol=2e-6)
    np.testing.assert_allclose(one.u_seen_mm, other.u_seen_mm, rtol=0.02)
    assert one.unseen == other.unseen
    assert one.free.shape == other.free.shape


def same_sums(one: RailSums, other: RailSums) -> None:
    """Chords short and long, and a single cell: what is kept says the same of them."""
    for places in ([60.0, 120.0, 200.0], [100.0, 110.0, 120.0], [40.0, 150.0, 240.0]):
        share = (places[1] - places[0]) / (places[2] - places[0])
        chord = np.array(places), np.array([1.0 - share, -1.0, share])
        assert one.u_of_sum_mm(*chord) == pytest.approx(other.u_of_sum_mm(*chord), rel=0.03)
    alone = np.array([101.3]), np.array([1.0])
    assert one.u_of_sum_mm(*alone) == pytest.approx(other.u_of_sum_mm(*alone), rel=0.03)


def test_a_joined_map_and_what_it_was_made_of(joined: RailResult) -> None:
    document = kept(rail_document(joined, "bench-rail", MADE, {"reference": "offsets"}))
    assert document["method"] == "straightedge + several offsets"
    assert document["celsius"] == 21.4
    rail = rail_of(document)
    at = np.array([100.0, 333.3, 700.0])
    np.testing.assert_allclose(rail.at(at, at), joined.rail.at(at, at), atol=1e-7, rtol=0.01)
    for stored, made in zip(kept_estimates(document), joined.kept, strict=True):
        assert (stored.made, stored.celsius, stored.scans) == (MADE, 21.4, made.scans)
        same(stored.estimate, made.estimate)
    same_sums(line_sums_of(document), RailSums.of(joined.line))


def test_documents_stay_small(joined: RailResult, tmp_path: Path) -> None:
    store = CalibrationStore(tmp_path, "bench-rail")
    path = store.save("rail", rail_document(joined, "bench-rail", MADE, {}))
    # a few numbers to a cell, and whatever of its error is shared
    assert path.stat().st_size < 250 * X.size


def test_a_map_of_the_first_kind_still_loads_and_joins() -> None:
    document = kept(
        {
            "kind": "rail", "rig": "bench-rail", "made": MADE, "reference": "straightedge",
            "u_straightedge_um": 0.3, "scan": "001-rail.h5", "lag_known": True,
            "x_mm": X.tolist(), "r_um": (1e3 * BOW).tolist(), "u_um": [0.5] * X.size,
        }
    )  # fmt: skip
    rail = rail_of(document)
    assert isinstance(rail, RailMap)
    np.testing.assert_allclose(rail.r_mm, BOW)
    (only,) = kept_estimates(document)
    assert (only.estimate.method, only.scans) == ("straightedge", ("001-rail.h5",))
    # its own part and the straightedge's make up what it stated
    assert np.sqrt(np.mean(only.estimate.u_seen_mm**2)) == pytest.approx(5e-4, rel=0.02)
    same_sums(line_sums_of(document), RailSums.of(only.estimate))
    combine_rail([only.estimate, one("strings", 1, 3).estimate]).require_agreement()


@pytest.fixture(scope="module")
def across(make_profile: Callable[..., Profile], pads: tuple[Pad, ...]) -> RailSurface:
    x = np.arange(40.0, 360.0, 0.125)
    rows = [
        (y, [make_profile(x, 1e-4 * y * np.sin(x / 60.0), way) for way in (1, -1)])
        for y in (-20.0, 0.0, 20.0)
    ]
    return fit_surface(rows, pads, 0.3)


def test_a_surface_and_back(across: RailSurface) -> None:
    found = KeptEstimate(line_estimate(across, 0.3), MADE, None, ("001-rail.h5",))
    result = RailResult(found.estimate, (found,), (), across)
    document = kept(rail_document(result, "bench-rail", MADE, {}))
    rail, again = rail_of(document), across_of(document)
    assert again is not None
    assert again.y_mm == (-20.0, 20.0)
    x = np.arange(50.0, 350.0)
    value, u = rail.at(x, np.full(x.size, 13.0))
    np.testing.assert_allclose(value, result.rail.at(x, np.full(x.size, 13.0))[0], atol=1e-6)
    np.testing.assert_allclose(u, result.rail.at(x, np.full(x.size, 13.0))[1], rtol=0.02)
    off = value - 1.3e-3 * np.sin(x / 60.0)
    assert np.std(off - np.polyval(np.polyfit(x, off, 1), x)) < 1e-4
    assert document["celsius"] is None


@pytest.mark.parametrize(
    "change",
    [
        {"r_um": [1.0]},
        {"x_mm": None},
        {"celsius": "warm"},
        {"across": {"x_mm": [1, 2]}},
        {"across": {"covariance_um2": ["1 2", "3"]}},
    ],
)
def test_damaged_maps(change: dict[str, object], joined: RailResult) -> None:
    document = kept(rail_document(joined, "bench-rail", MADE, {}))
    with pytest.raises(FileError, match=r"rail-1\.json: found .* it is damaged"):
        built(rail_of, Found({**document, **change}, "rail-1.json"))


@pytest.mark.parametrize("change", [{"modes_um": [[1.0]]}, {"r_um": "1 2"}, {"r_um": "a b"}])
def test_damaged_estimates(change: dict[str, object], joined: RailResult) -> None:
    document = kept(rail_document(joined, "bench-rail", MADE, {}))
    document["estimates"][0].update(change)
    with pytest.raises(FileError, match="it is damaged"):
        built(kept_estimates, Found(document, "rail-1.json"))


def test_numbers_in_a_row() -> None:
    values = [0.0, -12.3456789, 1e-9, 7.0]
    assert packed(values) == "0.000 -12.346 0.000 7.000"
    np.testing.assert_allclose(unpacked(packed(values, 9)), values, atol=1e-7)
    assert packed([]) == ""
    assert packed([0.0]) == "0"


def test_a_map_of_another_rig_is_refused(joined: RailResult, rig: RigFile) -> None:
    document = kept(rail_document(joined, "bench-rail", MADE, {}))
    require_fit(Found(document, "here"), rig)
    with pytest.raises(InputError, match="here: found a rail map of 'other-rail'; allowed one of"):
        require_fit(Found({**document, "rig": "other-rail"}, "here"), rig)
    shorter = parse_rig(RIG.replace("[0, 640]", "[0, 200]").replace("600", "180").replace(
        "614", "195"), "rig.yaml")  # fmt: skip
    with pytest.raises(InputError, match="from 30 to 250 mm; allowed within the travel_mm of"):
        require_fit(Found(document, "here"), shorter)


def scan_at(started: str, hundredths: int) -> Scan:
    one = SimpleNamespace(good=True, samples=SimpleNamespace(temp=np.full(9, hundredths)))
    return cast(Scan, SimpleNamespace(started=started, passes=(one,)))


@pytest.mark.parametrize(
    ("started", "hundredths", "ends"),
    [
        ("2026-07-14T09:00:00+02:00", 2300, ", 43 days before the scan, at 21.4 °C"),
        ("2026-06-01T08:30:00+00:00", ABSENT, ", on the day of the scan, at 21.4 °C"),
        ("2026-05-31T10:00:00+02:00", 2140, ", 1 day after the scan, at 21.4 °C"),
        (
            "2026-09-09T10:00:00+02:00",
            2700,
            ", 100 days before the scan, at 21.4 °C; that is long: map the rail again; the scan "
            "was made at 27.0 °C, and a rail bends with temperature: map it again at the scan's",
        ),
    ],
)
def test_a_map_grows_old_visibly(
    started: str, hundredths: int, ends: str, joined: RailResult
) -> None:
    document = kept(rail_document(joined, "bench-rail", MADE, {}))
    words = rail_words(Found(document, "here"), scan_at(started, hundredths))
    assert words == f"rail: straightedge + several offsets, calibrated 2026-06-01{ends}"


def test_an_old_documents_words() -> None:
    words = rail_words(Found({"made": MADE}, "here"), scan_at(MADE, ABSENT))
    assert words == "rail: straightedge, calibrated 2026-06-01, on the day of the scan"


def test_ages() -> None:
    made = datetime.fromisoformat(MADE)
    assert age_days(made, datetime.fromisoformat("2026-06-03T09:00:00+02:00")) == 2
    assert age_words(90, "today") == "90 days before today"
    assert [is_old(days) for days in (90, 91, -91)] == [False, True, True]
