"""How often to come back to a pad: only a long look can tell."""

from __future__ import annotations

from typing import Any

import numpy as np

from daq.acquire.health.check import STILL_S
from daq.acquire.use import OwnRig
from daq.files.rig import RigFile
from daq.wire.line import encode

RATE = 400


def wandering(seconds: float, um: float) -> Any:
    """A rig at rest whose sensor wanders every 30 s, with 1.5 µm of noise and a few losses."""
    rng = np.random.default_rng(1)
    count = int(seconds * RATE)
    wander = um * np.sin(2.0 * np.pi * np.arange(count) / RATE / 30.0)
    raw = 1500 + wander + rng.normal(0.0, 1.5, count)

    def answer(rig: Any, fields: list[str]) -> None:
        rig.do_G(fields)
        frames = [
            encode.sample(n, 2500 * n, 2000, 0, round(value))
            for n, value in enumerate(raw.tolist())
            if n % 487
        ]
        for at in range(0, count, 500):
            rig.say(*frames[at : at + 500])

    return answer


def test_more_wander_asks_for_pads_sooner(fake_rig: Any, rig_file: RigFile) -> None:
    def advice(um: float) -> float:
        fake = fake_rig({"G": wandering(62.0, um)})
        health = OwnRig(rig_file, lambda *_: fake).check(60.0)
        assert health.pad_every_s is not None
        return health.pad_every_s

    # a line over T leaves um (1 - cos(pi T / 30)) of it; a pad reading is good to 0.14 µm
    assert 1.0 < advice(10.0) < 3.0
    assert 3.0 < advice(2.0) < 7.0
    assert advice(0.0) > 15.0


def test_a_short_look_says_nothing_of_drift(fake_rig: Any, rig_file: RigFile) -> None:
    fake = fake_rig({"G": wandering(4.0, 2.0)})
    assert OwnRig(rig_file, lambda *_: fake).check(STILL_S).pad_every_s is None
