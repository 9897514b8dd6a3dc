"""What driving shows against the rig file: scripted counts, and passes over made-up steel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from calibration.drift.places import end_flats, flats
from calibration.passes import FloatArray, RawPass
from daq.acquire.health.wiring import wiring_faults
from daq.acquire.use import OwnRig
from daq.errors import RigError
from daq.files.rig import RigFile, parse_rig
from daq.wire.line import encode

Move = Callable[[Any, int], tuple[int, int]]


def moving(how: Move) -> Callable[[Any, list[str]], None]:
    """A rig whose counts go elsewhere while it streams: `how` says where, in x and y counts."""

    def move(rig: Any, fields: list[str]) -> None:
        to_x = int(fields[0]) if fields[0] else rig.x
        to_y = rig.y
        if rig.rate_hz:
            to_x, to_y = how(rig, to_x)
        rig.say(encode.accept("M"))
        if rig.rate_hz:
            rig.say(*rig.samples(to_x, 2000, to_y), rig.event("arrived"))
            return
        rig.x, rig.y = to_x, to_y
        rig.say(rig.event("arrived"))

    return move


@pytest.mark.parametrize(
    ("how", "says"),
    [
        (lambda rig, to: (rig.x, to // 2), "the axes are swapped: sent 20 mm along x, x counted"),
        (lambda rig, to: (-to, rig.y), "counts the wrong way round: sent away from the nut, x"),
        (lambda rig, to: (rig.x, rig.y), "does not count: sent 20 mm, x went 0.0 mm; see whether"),
        (lambda rig, to: (to * 2, rig.y), "was sent 20 mm and counted 39.9"),
    ],
)
def test_first_steps_that_are_odd(fake_rig: Any, rig_file: RigFile, how: Move, says: str) -> None:
    fake = fake_rig({"M": moving(how)})
    with pytest.raises(RigError, match=says):
        OwnRig(rig_file, lambda *_: fake).over_pads()
    assert fake.commands[-1] == "K"


@pytest.fixture
def steel() -> Callable[..., list[RawPass]]:
    """Passes there and back over flat stretches, nothing read between; lag as 0.1 mm."""

    def steel(*pads_mm: tuple[float, float], noise_mm: float = 0.002) -> list[RawPass]:
        rng = np.random.default_rng(4)
        x_mm = np.arange(0.5, 99.5, 0.0625)
        return [_one(x_mm[::way], pads_mm, way, noise_mm, rng) for way in (1, -1)]

    def _one(
        x_mm: FloatArray,
        pads_mm: tuple[tuple[float, float], ...],
        way: int,
        noise_mm: float,
        rng: np.random.Generator,
    ) -> RawPass:
        true_mm = x_mm - 0.1 * way
        on = np.zeros(x_mm.size, np.bool_)
        for low, high in pads_mm:
            on |= (true_mm >= low) & (true_mm <= high)
        z = np.where(on, 2.0 + noise_mm * rng.standard_normal(x_mm.size), np.nan)
        z[::400] += 0.3
        t_s = np.arange(x_mm.size) / 400.0
        return RawPass(1, np.nan, way, 25.0, t_s, x_mm, 0.0 * x_mm, z)

    return steel


@pytest.fixture
def optical(rig_text: str) -> RigFile:
    text = rig_text.replace("kind: contact", "kind: optical").replace("tip_radius", "spot")
    return parse_rig(text, "rig.yaml")


def test_pads_as_the_file_has_them(optical: RigFile, steel: Callable[..., list[RawPass]]) -> None:
    assert wiring_faults(steel((4, 16), (80, 94)), optical) == ()
    (first, last) = end_flats(steel((4, 16), (80, 94)), 0.001, 0.0)
    assert (first.from_mm, first.to_mm) == pytest.approx((4.0, 16.0), abs=0.1)
    assert (last.from_mm, last.to_mm) == pytest.approx((80.0, 94.0), abs=0.1)


@pytest.mark.parametrize(
    ("pads_mm", "says"),
    [
        ([(9, 21), (80, 94)], ["the first pad is not where the rig file has it: found 4 to 16"]),
        ([(4, 16), (76, 90)], ["the last pad is not where the rig file has it: found 80 to 94"]),
        ([(9, 21), (70, 84)], ["the first pad is not", "the last pad is not where"]),
        ([(4.16, 16.64), (83.2, 97.8)], ["scale is off: the pads lie at 1.040 times"]),
        ([(2, 8), (40, 47)], ["0.500 times their places in the rig file; carriage.mm_per_count"]),
        ([(6, 24)], ["scale is off: the pads lie at 1.499 times"]),
        ([(4, 16)], ["the last pad (80 to 94 mm) was not seen; check where it is"]),
        ([(80, 94)], ["the first pad (4 to 16 mm) was not seen"]),
        ([(4, 16), (40, 46)], ["the last pad (80 to 94 mm) was not seen"]),
        ([], ["no pad was seen along the whole travel"]),
    ],
)
def test_pads_that_are_not(
    optical: RigFile,
    steel: Callable[..., list[RawPass]],
    pads_mm: list[tuple[float, float]],
    says: list[str],
) -> None:
    faults = wiring_faults(steel(*pads_mm), optical)
    assert len(faults) == len(says)
    for fault, part in zip(faults, says, strict=True):
        assert part in fault


def test_what_climbs_or_bends_is_no_flat() -> None:
    x = np.arange(0.0, 60.0, 0.05)
    assert flats(x, 0.3 * x, 0.001, 0.0) == []
    assert flats(x, 0.002 * (x - 30.0) ** 2, 0.001, 0.0) == []
    assert len(flats(x, 0.001 * x, 0.001, 0.0)) == 1
