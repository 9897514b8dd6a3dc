"""Over the pads and back."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from daq.acquire.use import OwnRig
from daq.errors import RigError
from daq.files.rig import RigFile
from daq.reading.baseline import on_pads
from daq.wire.line import encode


def on_steel(rig: Any, fields: list[str]) -> None:
    """A move over pads of which the last stands 120 counts higher."""
    rig.say(encode.accept("M"))
    was, to = rig.x, int(fields[0]) if fields[0] else rig.x
    count = max(2, round(abs(to - was) / 5000 * (rig.rate_hz or 1)))
    frames = []
    for n in range(1, count + 1):
        x = was + (to - was) * n // count
        raw = 1000 + 120 * (x > 10_000) + n % 2
        if rig.rate_hz:
            frames.append(encode.sample(rig.seq, rig.t_us, x, 0, raw))
            rig.seq, rig.t_us = (rig.seq + 1) % 2**32, (rig.t_us + 2500) % 2**32
    rig.x = to
    rig.say(*frames, rig.event("arrived"))


def test_there_and_back(fake_rig: Any, rig_file: RigFile) -> None:
    fake = fake_rig({"M": on_steel})
    passes = OwnRig(rig_file, lambda *_: fake).over_pads()
    assert [one.direction for one in passes] == [1, -1]
    assert passes[0].x_mm[-1] == pytest.approx(99.5)
    assert passes[1].x_mm[-1] == pytest.approx(0.5)
    assert np.all(np.diff(np.concatenate([one.t_s for one in passes])) > 0)
    seen = on_pads(passes, rig_file)
    assert seen.step is not None
    assert seen.step.step_mm == pytest.approx(0.120, abs=1e-4)
    assert seen.rate_hz == pytest.approx(400.0)
    assert [command[0] for command in fake.commands] == list("HXMOMGMXMMGMXMGMX")
    assert fake.closed


def test_what_stops_it_halts_it(fake_rig: Any, rig_file: RigFile) -> None:
    def stalls(rig: Any, fields: list[str]) -> None:
        if not rig.rate_hz:
            return on_steel(rig, fields)
        return rig.say(encode.accept("M"), rig.event("stalled"))

    fake = fake_rig({"M": stalls})
    with pytest.raises(RigError, match="stalled"):
        OwnRig(rig_file, lambda *_: fake).over_pads()
    assert fake.commands[-1] == "K"
    assert fake.closed
