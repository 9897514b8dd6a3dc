"""Where the lanes lie."""

from __future__ import annotations

import pytest

from analysis.instrument import Instrument, StringSpec
from daq.acquire.passes.lanes import (
    PassPlan,
    both_ways,
    lag_passes,
    lanes_for,
    rail_passes,
    straight_lane,
)
from daq.acquire.passes.words import lane_words, pass_words, set_cross_slide
from daq.files.rig import RigFile


@pytest.fixture
def instrument() -> Instrument:
    """Scale 600 mm, strings 7 mm apart at the nut and 10 mm at the bridge, nut at 20 mm."""
    return Instrument(
        name="test",
        scale_bass_mm=600.0,
        scale_treble_mm=600.0,
        square_fret=0,
        frets=22,
        body_joint_fret=12,
        board_radius_mm=(300.0, 300.0),
        board_width_mm=(43.0, 56.0),
        nut_at_mm=20.0,
        strings=(StringSpec("E4", 329.6, 0.254, False),) * 6,
        spacing_mm=(7.0, 10.0),
        action_mm=(1.5,) * 6,
        nut_gap_mm=(0.4,) * 6,
    )


def test_strung_lanes_lie_between_the_strings(instrument: Instrument, rig_file: RigFile) -> None:
    lanes = lanes_for(instrument, rig_file, "strung")
    assert [lane.string for lane in lanes] == [1.5, 2.5, 3.5, 4.5, 5.5]
    assert [lane.lane for lane in lanes] == [1, 2, 3, 4, 5]
    assert {lane.kind for lane in lanes} == {"between"}


def test_unstrung_lanes_lie_under_and_between(instrument: Instrument, rig_file: RigFile) -> None:
    lanes = lanes_for(instrument, rig_file, "unstrung")
    assert [lane.string for lane in lanes] == [1 + n / 2 for n in range(11)]
    assert [lane.kind for lane in lanes] == ["under", "between"] * 5 + ["under"]


def test_a_driven_slide_follows_the_fan(instrument: Instrument, rig_file: RigFile) -> None:
    lane = lanes_for(instrument, rig_file, "unstrung")[0]
    # String 1 is 2.5 spacings from the middle; 15 mm before the nut and 73 mm after it.
    assert lane.start_mm == (5.0, pytest.approx(2.5 * (7.0 - 3.0 * 15 / 600)))
    assert lane.end_mm == (93.0, pytest.approx(2.5 * (7.0 + 3.0 * 73 / 600)))
    assert not lane.set_by_hand


def test_a_slide_set_by_hand_stays(instrument: Instrument, hand_rig_file: RigFile) -> None:
    lane = lanes_for(instrument, hand_rig_file, "strung")[0]
    # Half way to fret 12 is at a quarter of the scale.
    assert lane.start_mm == (5.0, pytest.approx(2.0 * 7.75))
    assert lane.end_mm == (93.0, pytest.approx(2.0 * 7.75))
    assert lane.set_by_hand
    assert set_cross_slide(lane) == (
        "Set the cross slide to y = +15.5 mm, between strings 1 and 2 at the middle of the neck"
    )


def test_a_pass_back_runs_the_lane_the_other_way(rig_file: RigFile) -> None:
    forward, back = both_ways([straight_lane(rig_file)], 25.0)
    assert (forward.direction, forward.from_mm, forward.to_mm) == (1, (5.0, 0.0), (93.0, 0.0))
    assert (back.direction, back.from_mm, back.to_mm) == (-1, (93.0, 0.0), (5.0, 0.0))


def test_calibration_passes(rig_file: RigFile) -> None:
    def shown(plan: PassPlan) -> tuple[int, float]:
        return plan.direction, round(plan.speed_mm_s, 6)

    rail = rail_passes(rig_file)
    assert [shown(plan) for plan in rail] == [(1, 25.0), (-1, 25.0)] * 4
    assert [plan.lane.lane for plan in rail] == [1, 1, 2, 2, 3, 3, 4, 4]
    speeds = [24.2825, 11.7175, 0.979 * 24.2825, 0.979 * 11.7175]
    expected = [(way, pytest.approx(v)) for v in speeds for way in (1, -1)]
    assert [shown(plan) for plan in lag_passes(rig_file)] == expected
    assert [plan.lane.lane for plan in lag_passes(rig_file)] == [1, 1, 1, 1, 2, 2, 2, 2]


@pytest.mark.parametrize(
    ("string", "words"),
    [
        (3.0, "under string 3"),
        (2.5, "between strings 2 and 3"),
        (None, "along the rail"),
        (float("nan"), "along the rail"),
    ],
)
def test_lanes_in_words(string: float | None, words: str) -> None:
    assert lane_words(string) == words


def test_a_pass_in_words(rig_file: RigFile) -> None:
    plan = PassPlan(straight_lane(rig_file), -1, 25.0)
    assert pass_words(plan) == "lane 1 (along the rail, towards the nut)"
