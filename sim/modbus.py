"""A Modbus RTU sensor: it answers who asks for its input registers, and says nothing else.

Written from the standard alone: Modbus application protocol V1.1b3, Modbus over serial line V1.02.
"""

from __future__ import annotations

import struct
from collections import deque

import numpy as np

from sim.clock import Counters
from sim.controller import Controller, Flood, Speaker, Trouble, World
from sim.limits import Refusal
from sim.part import Part
from sim.rigspec import RigSpec
from sim.sampler import Sampler

UNIT, REGISTERS = 7, 2
READ_INPUT = 4
NO_READING = -(2**31)
REQUEST_BYTES = 8
MOST_REGISTERS = 125
ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE = 1, 2, 3
TAKES_S = (0.002, 0.004)
"""From the question to the reading and its answer, at least and at most. Common practice, no
source."""


class Slave:
    """From power-on at the world's now_s. Its reading is a whole number of 32 bits, high word
    first, in input registers 0 and 1."""

    def __init__(self, world: World, part: Part) -> None:
        bench = world.bench
        self.part = part
        self._rng = np.random.default_rng([bench.scenario.seed, 13, world.epoch])
        counters = Counters(bench.scenario.seed + world.epoch)
        self._sampler = Sampler(bench, part, world.carriage, counters, self._rng)
        self._now_s = world.now_s
        self._heard = b""
        self._asked: deque[tuple[float, bytes]] = deque()

    @property
    def moving(self) -> bool:
        return False

    @property
    def streaming(self) -> bool:
        return False

    @property
    def now_s(self) -> float:
        return self._now_s

    def feed(self, data: bytes) -> None:
        """Questions are answered a little later; what is none, or for another unit, never."""
        self._heard += data
        while len(self._heard) >= REQUEST_BYTES:
            frame = self._heard[:REQUEST_BYTES]
            whole = framed(frame[:-2]) == frame
            self._heard = self._heard[REQUEST_BYTES if whole else 1 :]
            if whole and frame[0] == UNIT:
                self._asked.append((self._now_s + self._rng.uniform(*TAKES_S), frame))

    def produce(self, max_bytes: int, until_s: float | None = None) -> bytes:
        """The answers that are due."""
        until_s = self._now_s if until_s is None else until_s
        out = b""
        while self._asked and self._asked[0][0] <= until_s:
            out += self._answer(*self._asked.popleft())
        self._now_s = max(self._now_s, until_s)
        return out

    def stall(self) -> None:
        raise Refusal("a sensor moves nothing")

    def push(self, to_mm: float, seconds: float, y_mm: float) -> None:
        raise Refusal("a sensor moves nothing")

    def hang_up(self) -> None:
        self._heard = b""
        self._asked.clear()

    def trouble(self, kind: Trouble, on: bool) -> None:
        raise Refusal("a sensor that is asked repeats nothing and has no clock")

    def surplus(self, kind: Flood, max_bytes: int) -> bytes:
        raise Refusal("a sensor that is asked sends nothing of itself")

    def _answer(self, t_s: float, frame: bytes) -> bytes:
        function, first, count = struct.unpack(">BHH", frame[1:6])
        if function != READ_INPUT:
            return _exception(function, ILLEGAL_FUNCTION)
        if not 1 <= count <= MOST_REGISTERS:
            return _exception(function, ILLEGAL_VALUE)
        if first + count > REGISTERS:
            return _exception(function, ILLEGAL_ADDRESS)
        words = self._reading(t_s)[2 * first : 2 * (first + count)]
        return framed(bytes([UNIT, function, len(words)]) + words)

    def _reading(self, t_s: float) -> bytes:
        raw = self._sampler.take(np.array([t_s])).cells()[4][0]
        return struct.pack(">i", NO_READING if raw is None else raw)


def _exception(function: int, code: int) -> bytes:
    return framed(bytes([UNIT, function | 0x80, code]))


def framed(body: bytes) -> bytes:
    """With its checksum, the low byte first."""
    check = 0xFFFF
    for byte in body:
        check ^= byte
        for _ in range(8):
            check = check >> 1 ^ (0xA001 if check & 1 else 0)
    return body + struct.pack("<H", check)


def _make(world: World, part: Part) -> Controller:
    return Slave(world, part)


def _settings(spec: RigSpec) -> str:
    keys = f"unit: {UNIT}, first_register: 0, count: {REGISTERS}, invalid: {NO_READING}"
    return f"modbus: {{{keys}}}"


MODBUS = Speaker(_make, ("sensor",), real_time=True, settings=_settings)
