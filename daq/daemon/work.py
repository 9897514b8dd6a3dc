"""What a daemon can be asked to do with its rig, as a request has it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

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


Work = RecordWork | CheckWork | PadsWork | LookWork
WorkRequest = Annotated[Work, Field(discriminator="kind")]
WORDS = {
    "record": "a recording",
    "check": "a check",
    "over_pads": "a drive over the pads",
    "look": "a look at the sensor",
}
