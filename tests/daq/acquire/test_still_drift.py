"""How often to come back to a pad: only a long look can tell."""

from __future__ import annotations

from typing import Any

import numpy as np

from daq.acquire.check import check_rig
from daq.files.rig import RigFile
from daq.wire import encode

RATE = 400


def drifting(seconds: float, um_per_s: float) -> Any:
    """A rig at rest whose sensor drifts evenly, with 1.5 µm of noise and a few losses."""
    rng = np.random.default_rng(1)
    count = int(seconds * RATE)
    raw = 1500 + um_per_s * np.arange(count) / RATE + rng.normal(0.0, 1.5, count)

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


def test_fast_drift_asks_for_pads_sooner(fake_rig: Any, rig_file: RigFile) -> None:
    def advice(um_per_s: float) -> float:
        fake = fake_rig({"G": drifting(62.0, um_per_s)})
        health = check_rig(rig_file, 60.0, open_link=lambda port, baud: fake)
        assert health.pad_every_s is not None
        return health.pad_every_s

    fast, slow = advice(2.0), advice(0.05)
    # a pad reading of 112 samples is good to 1.5 / sqrt(112) µm, drift of 2 µm/s passes that
    assert fast < 1.0
    assert slow > 2.0 * fast


def test_a_short_look_says_nothing_of_drift(fake_rig: Any, rig_file: RigFile) -> None:
    fake = fake_rig({"G": drifting(4.0, 2.0)})
    assert check_rig(rig_file, open_link=lambda port, baud: fake).pad_every_s is None
