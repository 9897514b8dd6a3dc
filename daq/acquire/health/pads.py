"""Over the pads and back: how they stand to one another, and whether they lie where they should.

The way is the carriage's whole travel, so that pads are found wherever they lie; its first steps
are slow ones.
"""

from __future__ import annotations

from contextlib import suppress

import numpy as np

from calibration.clocks.clock import unwrap_u32
from calibration.clocks.fit import ClockError
from calibration.passes import RawPass
from daq.acquire.health.wiring import STEP_MM, STEP_SPEED_SHARE, FirstSteps
from daq.acquire.links.rig_faults import RigRefused
from daq.acquire.passes.lanes import LanePlan, PassPlan, both_ways, straight_lane
from daq.acquire.passes.pass_log import link_logs
from daq.acquire.rig.rig import Rig
from daq.errors import NeckformError, RigError
from daq.files.rig import RigFile
from daq.record.merge import merge
from daq.wire.records import ABSENT, SampleBlock

INSIDE_MM = 0.5
"""Short of the ends of the travel, where an end stop may be."""


def drive_over_pads(rig: Rig, rig_file: RigFile) -> list[RawPass]:
    """Along the whole travel and back at y = 0; nothing is recorded.

    For a motor rig. One without an end stop goes from pad to pad only. Raises RigError as a scan
    does, and where the carriage does not count as it is driven; halts whatever stops it.
    """
    try:
        lane = straight_lane(rig_file)
        if _home(rig, rig_file):
            _first_steps(rig, rig_file)
            lane = _whole_travel(rig_file)
            _reach_end(rig, rig_file, lane)
        plans = both_ways([lane], rig_file.carriage.speed_mm_s)
        blocks = [_traverse(rig, rig_file, plan) for plan in plans]
    except BaseException:
        with suppress(NeckformError):
            rig.halt()
        raise
    return _passes(blocks, plans, rig_file)


def _home(rig: Rig, rig_file: RigFile) -> bool:
    """As a scan does: the cross slide to its zero first, for homing sets y to 0 there too.

    Returns whether the rig has an end stop; without one it counts from where it stands.
    """
    with suppress(RigRefused):
        if rig_file.has_cross:
            rig.move(None, 0.0, rig_file.carriage.speed_mm_s)
    try:
        rig.home()
    except RigRefused:
        return False
    return True


def _first_steps(rig: Rig, rig_file: RigFile) -> None:
    """Slowly away from the end stop. Raises RigError where that is not what it counts."""
    low_mm, _ = rig_file.carriage.travel_mm
    start_mm = max(low_mm, 0.0)
    speed_mm_s = STEP_SPEED_SHARE * rig_file.carriage.speed_mm_s
    rig.move(start_mm, None, speed_mm_s)
    steps = FirstSteps(rig_file)
    with rig.listening(steps.heard):
        rig.stream(rig_file.sensor.rate_hz)
        rig.move(start_mm + STEP_MM, None, speed_mm_s)
        rig.stop()
    steps.judge(STEP_MM)


def _reach_end(rig: Rig, rig_file: RigFile, lane: LanePlan) -> None:
    """Raises RigError where the rig's own limits are narrower than its file's."""
    try:
        rig.move(lane.end_mm[0], None, rig_file.carriage.speed_mm_s)
    except RigRefused as refused:
        raise RigError(
            f"{refused}; check carriage.travel_mm and carriage.mm_per_count in {rig_file.name}'s "
            "rig file"
        ) from refused


def _whole_travel(rig_file: RigFile) -> LanePlan:
    low_mm, high_mm = rig_file.carriage.travel_mm
    ends = (low_mm + INSIDE_MM, 0.0), (high_mm - INSIDE_MM, 0.0)
    return LanePlan(1, None, "straight", *ends, False)


def _traverse(rig: Rig, rig_file: RigFile, plan: PassPlan) -> SampleBlock:
    logs = link_logs(rig_file)
    rig.move(plan.from_mm[0], None, plan.speed_mm_s)
    with rig.listening(lambda heard: logs[heard.link].add(heard)):
        rig.stream(rig_file.sensor.rate_hz)
        rig.move(plan.to_mm[0], None, plan.speed_mm_s)
        rig.stop()
    try:
        return merge(tuple(log.seen.arrived for log in logs)).samples
    except ClockError as error:
        raise RigError(f"{rig_file.name}: the clocks of its links: {error}") from error


def _passes(
    blocks: list[SampleBlock], plans: tuple[PassPlan, ...], rig_file: RigFile
) -> list[RawPass]:
    t_s = 1e-6 * unwrap_u32(np.concatenate([block.t_us for block in blocks]))
    ends = np.cumsum([len(block) for block in blocks])[:-1]
    return [
        RawPass(
            lane=plan.lane.lane,
            string=np.nan,
            direction=plan.direction,
            speed_mm_s=plan.speed_mm_s,
            t_s=t,
            x_mm=rig_file.x_mm(block.x),
            y_mm=np.zeros(len(block)),
            z_mm=np.where(block.raw == ABSENT, np.nan, rig_file.z_mm(block.raw)),
        )
        for block, plan, t in zip(blocks, plans, np.split(t_s, ends), strict=True)
        if len(block)
    ]
