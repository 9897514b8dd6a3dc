"""What a daemon can be asked to do with its rig, as a request has it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from daq.acquire.health.check import LEAST_DRIFT_S, STILL_S
from daq.acquire.passes.lanes import PassPlan
from daq.record.notes import ScanBegin

MOST_PASSES = 2000
LONGEST_LOOK_S = 3600.0


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True)


class RecordWork(_Asked):
    """Run passes into a new scan file. path: of that file, within the workshop."""

    kind: Literal["record"] = "record"
    begin: ScanBegin
    passes: Annotated[tuple[PassPlan, ...], Field(min_length=1, max_length=MOST_PASSES)]
    path: Annotated[str, Field(min_length=4, max_length=1000)]

    @model_validator(mode="after")
    def _passes_can_be_run(self) -> Self:
        for plan in self.passes:
            if plan.direction not in (1, -1) or plan.speed_mm_s <= 0:
                raise ValueError("a pass has a direction of 1 or -1 and a speed above 0")
        return self


class CheckWork(_Asked):
    """Look at the rig standing still, for so many seconds of its own time."""

    kind: Literal["check"] = "check"
    still_s: Annotated[float, Field(gt=0, le=LONGEST_LOOK_S)]


class PadsWork(_Asked):
    """Drive over the pads and back; nothing is recorded."""

    kind: Literal["over_pads"] = "over_pads"


class LookWork(_Asked):
    """What the sensor reads with the carriage still, for so many seconds of the rig's time."""

    kind: Literal["look"] = "look"
    device_s: Annotated[float, Field(gt=0, le=LONGEST_LOOK_S)]


class ScanWork(_Asked):
    """Scan every lane of one state of a job's neck into the job; a person says first that the
    carriage may move. label: a few words for the file's name. rod_turns: where the truss rod
    stands, from where it stood when the job was opened; None as in the job's latest scan."""

    kind: Literal["scan"] = "scan"
    job: Annotated[str, Field(max_length=200)]
    state: Literal["strung", "unstrung"]
    label: Annotated[str, Field(max_length=200)] = ""
    rod_turns: float | None = None


class RailWork(_Asked):
    """Map the rail by a straightedge as it lies along it; a person says first that the carriage
    may move. straightedge_um: its own standard uncertainty; None for a good toolmaker's, 0.3.
    celsius: the rig's temperature, where it does not measure it."""

    kind: Literal["calibrate rail"] = "calibrate rail"
    straightedge_um: Annotated[float, Field(ge=0.0, le=100.0)] | None = None
    celsius: Annotated[float, Field(ge=-20.0, le=60.0)] | None = None


class LagWork(_Asked):
    """Find sensor latency and backlash over what lies on the rig; a person says first that the
    carriage may move."""

    kind: Literal["calibrate lag"] = "calibrate lag"


class CheckRigWork(_Asked):
    """Look at the rig standing still, drive a motor rig along its travel and back, and compare it
    with its calibrations; a person says first that the carriage may move."""

    kind: Literal["check rig"] = "check rig"
    still_s: Annotated[float, Field(ge=STILL_S, le=LONGEST_LOOK_S)] = LEAST_DRIFT_S


Step = ScanWork | RailWork | LagWork | CheckRigWork
Work = RecordWork | CheckWork | PadsWork | LookWork | Step
WorkRequest = Annotated[Work, Field(discriminator="kind")]
WORDS = {
    "record": "a recording",
    "check": "a check",
    "over_pads": "a drive over the pads",
    "look": "a look at the sensor",
    "scan": "a scan",
    "calibrate rail": "a calibration of the rail",
    "calibrate lag": "a calibration of lag and backlash",
    "check rig": "a check of the rig",
}


def job_of(asked: Work) -> str:
    """The job that a work puts a scan into; empty where it does not."""
    if isinstance(asked, ScanWork):
        return asked.job
    return asked.begin.job if isinstance(asked, RecordWork) else ""
