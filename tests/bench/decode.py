"""From the wire: decoding against reading the same bytes without a look at them."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import serial

from daq.acquire.links.clock import SteadyClock
from daq.acquire.links.inbox import Chunk, Ended, Inbox
from daq.acquire.links.reader import Reader
from daq.wire.binary.decode import BinaryDecoder
from daq.wire.dialect import Decoder
from daq.wire.line.decode import LineDecoder

from .stream import binary_bytes, line_bytes, terminal, writing
from .table import Part, rounded, times
from .timing import Took, interleaved

SAMPLES, FEW_SAMPLES = 300_000, 6_000
MOST_A_READ = 1 << 16
#: As much as the inbox hands on at once where much waits (daq.acquire.links.inbox).
BLOCK = 1 << 18
GATHER_S = 0.02
BLOCKS = (4096, 16_384, 65_536, 262_144)


def measure() -> Iterator[Part]:
    """Through a pseudo-terminal, then from memory."""
    yield _from_a_port("Line protocol", line_bytes, LineDecoder)
    yield _from_a_port("Binary protocol", binary_bytes, BinaryDecoder)
    yield _from_memory()


def _from_a_port(name: str, make: Callable[[int], bytes], decoder: Callable[[], Decoder]) -> Part:
    with tempfile.TemporaryDirectory() as folder:
        whole, few = Path(folder) / "whole", Path(folder) / "few"
        whole.write_bytes(make(SAMPLES))
        few.write_bytes(make(FEW_SAMPLES))
        size = whole.stat().st_size
        ways: dict[str, Callable[[], object]] = {
            "bare os.read, no parse": lambda: _through(whole, _bare),
            "neckform in one thread, every check": lambda: _through(whole, _decoding(decoder())),
            "neckform as it acquires: reader, inbox, decoder": lambda: _through(
                whole, _acquiring(decoder())
            ),
        }
        count = dict.fromkeys(ways, SAMPLES)
        if make is line_bytes:
            ways["pyserial readline, float of each cell"] = lambda: _readline(few)
            count["pyserial readline, float of each cell"] = FEW_SAMPLES
        took = interleaved(ways)
    bare = _a_sample(took["bare os.read, no parse"], SAMPLES)
    rows = []
    for way, one in took.items():
        wall_us, cpu_us = _a_sample(one, count[way])
        rows.append(
            [
                way,
                rounded(1e6 / wall_us),
                *(rounded(1e3 * one_us) for one_us in (wall_us, cpu_us)),
                times(wall_us / bare[0]),
                times(cpu_us / bare[1]),
            ]
        )
    return Part(
        f"{name} through a pseudo-terminal",
        f"{SAMPLES:,} frames of {size / SAMPLES:.1f} bytes, written by another process as fast as "
        f"they are taken; decoded {BLOCK // 1024} KiB at a time.",
        ("way", "frames/s", "ns a frame", "CPU ns a frame", "of bare", "CPU of bare"),
        rows,
    )


def _a_sample(took: Took, samples: int) -> tuple[float, float]:
    return 1e6 * took.wall_s / samples, 1e6 * took.cpu_s / samples


def _through(file: Path, take: Callable[[int, int], None]) -> None:
    with terminal() as (rig, port), writing(file, rig):
        take(port, file.stat().st_size)


def _bare(port: int, size: int) -> None:
    while size > 0:
        size -= len(os.read(port, MOST_A_READ))


def _decoding(decoder: Decoder) -> Callable[[int, int], None]:
    def take(port: int, size: int) -> None:
        waiting: list[bytes] = []
        much = samples = 0
        while size > 0:
            waiting.append(os.read(port, MOST_A_READ))
            much += len(waiting[-1])
            size -= len(waiting[-1])
            if much >= BLOCK or size <= 0:
                samples += len(decoder.feed(b"".join(waiting)).samples)
                waiting, much = [], 0
        assert samples == SAMPLES

    return take


class _Port:
    """A link to a pseudo-terminal that ends with its last byte."""

    def __init__(self, port: int, size: int) -> None:
        self._port, self._left = port, size

    def read(self) -> bytes:
        if not self._left:
            raise EOFError
        data = os.read(self._port, MOST_A_READ)
        self._left -= len(data)
        return data

    def write(self, data: bytes) -> None:
        raise NotImplementedError

    def close(self) -> None: ...


def _acquiring(decoder: Decoder) -> Callable[[int, int], None]:
    """One thread reads and stamps, this one decodes what has gathered."""

    def take(port: int, size: int) -> None:
        inbox, samples, ended = Inbox(), 0, False
        reader = Reader(_Port(port, size), SteadyClock(), inbox)
        while not ended:
            items = inbox.take(1.0, GATHER_S)
            ended = any(isinstance(item, Ended) for item in items)
            data = b"".join(item.data for item in items if isinstance(item, Chunk))
            samples += len(decoder.feed(data).samples)
        reader.close()
        assert samples == SAMPLES

    return take


def _readline(file: Path) -> None:
    """The script most people write."""
    # The port is opened first, for that throws away what waits.
    with (
        terminal() as (rig, port),
        serial.Serial(os.ttyname(port), timeout=10) as link,
        writing(file, rig),
    ):
        for _ in range(FEW_SAMPLES):
            body = link.readline().partition(b"*")[0]
            [float(cell) for cell in body.split(b",")[1:]]


def _from_memory() -> Part:
    protocols: tuple[tuple[str, bytes, Callable[[], Decoder]], ...] = (
        ("line", line_bytes(SAMPLES), LineDecoder),
        ("binary", binary_bytes(SAMPLES), BinaryDecoder),
    )
    ways: dict[str, Callable[[], object]] = {}
    for name, data, decoder in protocols:
        for size in BLOCKS:
            ways[f"{name}, {size // 1024} KiB"] = _fed(data, size, decoder)
    took = interleaved(ways, 5)
    rows = [
        [way, rounded(SAMPLES / one.cpu_s), rounded(1e9 * one.cpu_s / SAMPLES)]
        for way, one in took.items()
    ]
    says = "Decoding alone, by the size of the blocks it is fed."
    return Part("Decoding from memory", says, ("block", "frames/s", "CPU ns a frame"), rows)


def _fed(data: bytes, size: int, make: Callable[[], Decoder]) -> Callable[[], object]:
    blocks = [data[at : at + size] for at in range(0, len(data), size)]

    def run() -> None:
        decoder = make()
        assert sum(len(decoder.feed(block).samples) for block in blocks) == SAMPLES

    return run
