"""A device without a port, and its bytes taken apart by means of the standard library alone."""

from __future__ import annotations

import binascii
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from sim.bench import Bench
from sim.device import Device
from sim.faults import Faults
from sim.part import RIG, Part
from sim.rigspec import RigSpec


def framed(body: str) -> bytes:
    raw = body.encode("ascii")
    return raw + b"*%04X\n" % binascii.crc_hqx(raw, 0xFFFF)


def bodies(data: bytes) -> tuple[list[list[str]], int]:
    """Fields of every good frame, and the count of lines that are none."""
    lines = data.split(b"\n")[:-1]
    good = [line for line in lines if is_good(line)]
    return [line[:-5].decode("ascii").split(",") for line in good], len(lines) - len(good)


def is_good(line: bytes) -> bool:
    return b"%04X" % binascii.crc_hqx(line[:-5], 0xFFFF) == line[-4:] and line[-5:-4] == b"*"


@dataclass
class Host:
    """The other end of the wire: says a body, takes what comes until the rig is still."""

    bench: Bench
    device: Device

    def say(self, body: str) -> list[list[str]]:
        self.device.feed(framed(body))
        return bodies(self.device.produce(1))[0]

    def run(self, body: str, block_bytes: int = 16_384) -> bytes:
        """Everything from this move's acceptance to its end."""
        self.device.feed(framed(body))
        data = self.device.produce(block_bytes)
        while self.device.moving:
            data += self.device.produce(block_bytes)
        return data

    def samples(self, count: int) -> bytes:
        data = b""
        while data.count(b"\n") < count:
            data += self.device.produce(16_384)
        return data


def columns(data: bytes) -> np.ndarray:
    """float[n, 5]: seq, t_us, x, y, raw of the good samples; NaN for an empty reading."""
    fields, _ = bodies(data)
    cells = [[cell or "nan" for cell in each[1:6]] for each in fields if each[0] == "S"]
    return np.array(cells, dtype=float)


@pytest.fixture
def make_host() -> Callable[..., Host]:
    def make(
        seed: int = 1,
        faults: Faults | None = None,
        spec: RigSpec | None = None,
        part: Part = RIG,
    ) -> Host:
        bench = Bench(seed, Faults.none() if faults is None else faults, spec or RigSpec())
        return Host(bench, Device(bench, part=part))

    return make


@pytest.fixture
def take_columns() -> Callable[[bytes], np.ndarray]:
    return columns


@pytest.fixture
def take_bodies() -> Callable[[bytes], tuple[list[list[str]], int]]:
    return bodies
