"""Over the pads and back: how their heights stand to one another, whatever lies between."""

from __future__ import annotations

from contextlib import suppress

import numpy as np

from calibration.clocks.clock import unwrap_u32
from calibration.clocks.fit import ClockError
from calibration.passes import RawPass
from daq.acquire.lanes import PassPlan, both_ways, straight_lane
from daq.acquire.pass_log import link_logs
from daq.acquire.rig import Rig
from daq.acquire.rig_faults import RigRefused
from daq.errors import NeckformError, RigError
from daq.files.rig import RigFile
from daq.record.merge import merge
from daq.wire.records import ABSENT, SampleBlock


def drive_over_pads(rig: Rig, rig_file: RigFile) -> list[RawPass]:
    """From the first pad to the last and back along y = 0; nothing is recorded.

    For a motor rig. Raises RigError as a scan does, and halts whatever stops it.
    """
    try:
        _home(rig, rig_file)
        plans = both_ways([straight_lane(rig_file)], rig_file.carriage.speed_mm_s)
        blocks = [_traverse(rig, rig_file, plan) for plan in plans]
    except BaseException:
        with suppress(NeckformError):
            rig.halt()
        raise
    return _passes(blocks, plans, rig_file)


def _home(rig: Rig, rig_file: RigFile) -> None:
    """As a scan does: the cross slide to its zero first, for homing sets y to 0 there too."""
    with suppress(RigRefused):
        if rig_file.has_cross:
            rig.move(None, 0.0, rig_file.carriage.speed_mm_s)
    with suppress(RigRefused):  # a rig without an end stop counts from where it stands
        rig.home()


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
