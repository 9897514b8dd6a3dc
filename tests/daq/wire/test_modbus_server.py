"""The polled dialect against a server of the kept library's own, over a pseudo-terminal."""

from __future__ import annotations

import asyncio
import os
import select
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
import pytest
from pymodbus.pdu import ModbusPDU
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

from daq.wire.commands import Hello, Stop, Stream
from daq.wire.modbus.dialect import ModbusDialect
from daq.wire.records import ABSENT, Batch, Reply, SampleBlock

UNIT = 7
RATE_HZ = 50


@dataclass
class Peer:
    """What the server answers with, and when it last did."""

    counts: int = 0
    silent: bool = False
    asked: list[float] = field(default_factory=list)

    def packet(self, sending: bool, data: bytes) -> bytes:
        """Nothing goes out of a server that has gone silent, and it heeds its own unit alone."""
        if sending:
            return b"" if self.silent else data
        self.asked.append(time.monotonic())
        return data if data[0] == UNIT else b""

    def pdu(self, sending: bool, pdu: ModbusPDU) -> ModbusPDU:
        """Every answer another reading: of 32 bits, the high word first."""
        if sending and pdu.registers:
            self.counts += 1
            value = -100_000 + self.counts
            pdu.registers = [value >> 16 & 0xFFFF, value & 0xFFFF][: len(pdu.registers)]
        return pdu


class Host:
    """The other end: a talk and a decoder over a file descriptor."""

    def __init__(self, fd: int, dialect: ModbusDialect) -> None:
        self._fd = fd
        self.talk = dialect.talk()
        self._decoder = dialect.decoder()
        self.heard: list[Batch] = []

    def until(self, is_over: Callable[[], bool], most_s: float = 10.0) -> None:
        """Asks and hears until then. AssertionError where it takes too long."""
        end_s = time.monotonic() + most_s
        while not is_over():
            now_s = time.monotonic()
            assert now_s < end_s, "it takes too long"
            os.write(self._fd, self.talk.due(now_s))
            wait_s = min(self.talk.due_in_s(now_s), end_s - now_s)
            ready, _, _ = select.select([self._fd], [], [], wait_s)
            data = os.read(self._fd, 4096) if ready else b""
            self.heard.append(self.talk.hear(self._decoder.feed(data), time.monotonic()))

    @property
    def samples(self) -> SampleBlock:
        return SampleBlock.concatenate(batch.samples for batch in self.heard)

    @property
    def replies(self) -> list[Reply]:
        return [reply for batch in self.heard for reply in batch.replies]


@pytest.fixture
def line() -> Iterator[tuple[int, str]]:
    """A file descriptor, and the port at the other end."""
    ours, theirs = os.openpty()
    tty.setraw(theirs)
    yield ours, os.ttyname(theirs)
    os.close(theirs)
    os.close(ours)


@contextmanager
def serving(port: str, peer: Peer) -> Iterator[None]:
    """A server in a thread of its own, ended with the block."""
    loop = asyncio.new_event_loop()
    started = threading.Event()
    servers: list[ModbusSerialServer] = []

    async def serve() -> None:
        device = SimDevice(UNIT, SimData(0, count=4, values=0, datatype=DataType.REGISTERS))
        server = ModbusSerialServer(
            device, port=port, baudrate=115200, trace_packet=peer.packet, trace_pdu=peer.pdu,
            ignore_missing_devices=True,
        )  # fmt: skip
        servers.append(server)
        await server.serve_forever(background=True)
        started.set()
        await server.serving

    thread = threading.Thread(target=loop.run_until_complete, args=(serve(),))
    thread.start()
    assert started.wait(10.0)
    try:
        yield
    finally:
        asyncio.run_coroutine_threadsafe(servers[0].shutdown(), loop).result(10.0)
        thread.join(10.0)
        loop.close()


@pytest.fixture
def peer(line: tuple[int, str]) -> Iterator[Peer]:
    told = Peer()
    with serving(line[1], told):
        yield told


def host(line: tuple[int, str], **keys: int) -> Host:
    given = {"unit": UNIT, "first_register": 0, "count": 2, **keys}
    return Host(line[0], ModbusDialect(baud=115200, byte_bits=10, **given))


def greeted(line: tuple[int, str], **keys: int) -> Host:
    one = host(line, **keys)
    one.talk.say(Hello(), time.monotonic())
    one.until(lambda: bool(one.replies))
    return one


def test_hello(line: tuple[int, str], peer: Peer) -> None:
    one = greeted(line)

    assert [(reply.kind, *reply.fields[:2]) for reply in one.replies] == [
        ("H", "1", "modbus unit 7")
    ]
    assert len(peer.asked) == 1


def test_a_stream_of_readings_that_change(line: tuple[int, str], peer: Peer) -> None:
    one = greeted(line)
    one.heard.clear()
    one.talk.say(Stream(RATE_HZ), time.monotonic())
    one.until(lambda: len(one.samples) >= 60)
    one.talk.say(Stop(), time.monotonic())
    asked = len(peer.asked)
    one.until(lambda: len(one.samples) >= asked - 1)

    raw = one.samples.raw
    assert raw[0] == -100_000 + 2  # the first was hello's
    assert (np.diff(raw) == 1).all()
    assert (np.diff(one.samples.seq) == 1).all()
    assert sum(batch.bad_frames for batch in one.heard) == 0
    # a busy machine may be late now and then, but does not fall behind
    assert np.median(np.diff(peer.asked[1:])) == pytest.approx(1.0 / RATE_HZ, rel=0.1)


def test_registers_that_it_has_not(line: tuple[int, str], peer: Peer) -> None:
    one = greeted(line, first_register=100)

    (reply,) = one.replies
    assert (reply.kind, reply.fields[0]) == ("N", "H")
    assert "exception 2 from unit 7: it has no such register" in reply.fields[1]
    assert one.samples.raw.tolist() == [ABSENT]


def test_another_unit_never_answers(line: tuple[int, str], peer: Peer) -> None:
    one = host(line, unit=UNIT + 1)
    one.talk.say(Hello(), time.monotonic())

    one.until(lambda: len(peer.asked) >= 3)

    assert not one.replies
    assert not len(one.samples)


def test_a_server_gone_silent_and_back(line: tuple[int, str], peer: Peer) -> None:
    one = greeted(line)
    one.talk.say(Stream(RATE_HZ), time.monotonic())
    one.until(lambda: len(one.samples) >= 10)
    peer.silent = True
    asked = len(peer.asked)
    one.until(lambda: len(peer.asked) >= asked + 3)
    before = len(one.samples)
    # it was asked seldom, one question at a time
    assert np.min(np.diff(peer.asked[asked + 1 :])) > 0.2
    peer.silent = False
    one.until(lambda: len(one.samples) >= before + 10)

    assert sum(batch.bad_frames for batch in one.heard) == 0
