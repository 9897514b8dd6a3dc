"""A look at a still rig."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from daq.acquire.health.check import STILL_S
from daq.acquire.health.noise import still_noise
from daq.acquire.rig.rig import Rig
from daq.acquire.use import OwnRig
from daq.errors import RigError
from daq.files.rig import RigFile
from daq.wire.line import encode


def still(rig: Any, fields: list[str]) -> None:
    """2.5 s of a rig at rest, three samples lost in two gaps, one frame damaged."""
    rig.do_G(fields)
    frames = []
    for n in range(1000):
        raw = None if n % 100 == 0 else 1500 + n % 2
        frames.append(encode.sample(n, 2500 * n, 2000, -150, raw, 2130))
    frames[700:702] = []
    frames[500] = frames[500].replace(b"S", b"T")
    rig.say(*frames, rig.event("overrange"))


def test_what_a_still_rig_shows(fake_rig: Any, rig_file: RigFile) -> None:
    fake = fake_rig({"G": still})
    health = OwnRig(rig_file, lambda *_: fake).check(STILL_S)
    assert (health.hello.device_id, health.asked_rate_hz) == ("fake-1", 400.0)
    assert health.rate_hz == pytest.approx(400.0)
    assert (health.samples, health.gaps, health.lost, health.bad_frames) == (997, 2, 3, 1)
    assert health.invalid == 8
    assert health.noise_um == pytest.approx(1 / np.sqrt(2), rel=0.02)
    assert health.temperature_c == pytest.approx(21.3)
    assert (health.x_mm, health.y_mm) == (10.0, -1.5)
    assert health.events == ("overrange",)
    assert fake.commands == ["H", "X", "G,400", "X"]
    assert fake.closed


def test_a_rig_without_the_extras(fake_rig: Any, hand_rig_file: RigFile) -> None:
    def plain(rig: Any, fields: list[str]) -> None:
        rig.do_G(fields)
        rig.say(*(encode.sample(n, 2500 * n, 2000, None, None) for n in range(900)))

    health = OwnRig(hand_rig_file, lambda *_: fake_rig({"G": plain})).check(STILL_S)
    assert (health.noise_um, health.temperature_c, health.y_mm) == (None, None, None)
    assert health.invalid == 900


def test_a_rig_that_accepts_and_sends_nothing(
    fake_rig: Any, rig_file: RigFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(Rig.__init__.__kwdefaults__, "silence_s", 0.1)
    with pytest.raises(RigError, match=r"did not go on sending: nothing came for 0\.1 s"):
        OwnRig(rig_file, lambda *_: fake_rig()).check(STILL_S)


def test_noise_of_a_normal_sensor_with_drift_and_spikes() -> None:
    rng = np.random.default_rng(5)
    counts = 3000 + 2.0 * rng.standard_normal(4000) + np.arange(4000) * 0.01
    counts[::400] += 300
    assert still_noise(np.rint(counts).astype(np.int32)) == pytest.approx(2.02, rel=0.05)


def test_noise_below_a_count() -> None:
    counts = np.zeros(1000, np.int32)
    assert still_noise(counts) == 0.0
    counts[::10] = 1
    # Most differences are zero and so is their median deviation; two in ten are one count.
    assert still_noise(counts) == pytest.approx(np.sqrt(0.5 * 199 / 999))


def test_noise_of_too_few_readings() -> None:
    assert still_noise(np.array([1, 2], np.int32)) is None
