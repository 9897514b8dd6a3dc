"""A scripted rig behind a fake link: bytes in, bytes out, no port and no waiting for one."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import pytest

from daq.acquire.rig.rig import Rig
from daq.files.rig import RigFile, parse_rig
from daq.link.faults import LinkLost
from daq.record.journal_format import Received
from daq.wire.line import encode

RIG_TEXT = """\
name: short-rail
links:
  rig: {port: /dev/fake, baud: 460800, protocol: line}
carriage:
  link: rig
  drive: motor
  mm_per_count: 0.005
  travel_mm: [0, 100]
  speed_mm_s: 25
  cross: {mm_per_count: 0.01}
sensor:
  link: rig
  kind: contact
  mm_per_count: 0.001
  rate_hz: 400
  tip_radius_mm: 1.0
pads:
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 80, to_mm: 94}
"""
WRAP = 2**32


class FakeRig:
    """Obeys at once: a move while streaming sends all its samples, then `arrived`.

    on: answers of the test's own, by command letter, called as answer(rig, fields).
    commands: the bodies received. Counters start shortly before their wrap.
    """

    def __init__(self, on: dict[str, Callable[..., None]] | None = None) -> None:
        self.on = dict(on or {})
        self.commands: list[str] = []
        self.x = self.y = 0
        self.seq, self.t_us = WRAP - 300, WRAP - 900_000
        self.rate_hz = 0
        self.closed = False
        self._out: deque[bytes] = deque()
        self._changed = threading.Condition()
        self._fault: Exception | None = None

    # What the shell sees.

    def read(self) -> bytes:
        with self._changed:
            self._changed.wait_for(lambda: self._out or self._fault, 0.005)
            if self._out:
                return self._out.popleft()
            if self._fault:
                raise self._fault
            return b""

    def write(self, data: bytes) -> None:
        if self._fault:
            raise self._fault
        for line in data.splitlines():
            body = line.rpartition(b"*")[0]
            assert encode.frame(body) == line + b"\n"
            letter, *fields = body.decode().split(",")
            self.commands.append(body.decode())
            self.on.get(letter, getattr(type(self), f"do_{letter}"))(self, fields)

    def close(self) -> None:
        self.closed = True

    # What tests use.

    def say(self, *frames: bytes) -> None:
        with self._changed:
            self._out.append(b"".join(frames))
            self._changed.notify_all()

    def pull(self, fault: Exception | None = None) -> None:
        with self._changed:
            self._fault = fault or LinkLost("/dev/fake")
            self._changed.notify_all()

    def plug(self) -> None:
        self._fault = None
        self.closed = False

    def event(self, word: str, text: str = "") -> bytes:
        return encode.event(self.t_us, word, text)

    def samples(self, to_x: int, speed: int, to_y: int | None = None) -> list[bytes]:
        """Frames along a straight line, leaving the carriage at its end."""
        count = max(round(abs(to_x - self.x) / speed * self.rate_hz), 2)
        x0, y0, to_y = self.x, self.y, self.y if to_y is None else to_y
        frames = []
        for n in range(1, count + 1):
            self.x = x0 + (to_x - x0) * n // count
            self.y = y0 + (to_y - y0) * n // count
            frames.append(encode.sample(self.seq, self.t_us, self.x, self.y, 1500 + n % 3))
            self.seq = (self.seq + 1) % WRAP
            self.t_us = (self.t_us + 1_000_000 // self.rate_hz) % WRAP
        return frames

    def do_H(self, fields: list[str]) -> None:
        self.say(encode.hello_reply("fake-1", 1000))

    def do_G(self, fields: list[str]) -> None:
        self.rate_hz = int(fields[0])
        self.say(encode.accept("G"))

    def do_X(self, fields: list[str]) -> None:
        self.rate_hz = 0
        self.say(encode.accept("X"))

    def do_K(self, fields: list[str]) -> None:
        self.say(encode.accept("K"), self.event("halted"))

    def do_O(self, fields: list[str]) -> None:
        self.x = self.y = 0
        self.say(encode.accept("O"), self.event("homed"))

    def do_M(self, fields: list[str]) -> None:
        self.say(encode.accept("M"))
        self.say(*self.travel(fields), self.event("arrived"))

    def travel(self, fields: list[str], share: float = 1.0) -> list[bytes]:
        """Goes where a move says, or part of the way; the samples of it if streaming."""
        x = self.x if fields[0] == "" else int(fields[0])
        y = self.y if fields[1] == "" else int(fields[1])
        x = round(self.x + share * (x - self.x))
        if self.rate_hz:
            return self.samples(x, int(fields[2] or 5000), y)
        self.x, self.y = x, y
        return []


class StampClock:
    """The host's clock of a scripted pair: each reading thread gets the stamp its bytes have."""

    def __init__(self) -> None:
        self._stamps = threading.local()

    def set(self, t_ns: int) -> None:
        self._stamps.t_ns = t_ns

    def now_ns(self) -> int:
        return int(getattr(self._stamps, "t_ns", 1_700_000_000_000_000_000))


class FakeEnd(FakeRig):
    """One controller of a pair. It streams and moves only as its pair has it."""

    def __init__(self, pair: FakePair, name: str, ppm: float, counts: bool) -> None:
        super().__init__()
        self.pair, self.name, self.ppm, self.counts = pair, name, ppm, counts
        self.late_s = 0.0

    def read(self) -> bytes:
        data = super().read()
        if data:
            stamp, _, data = data.partition(b"|")
            self.pair.clock.set(int(stamp))
        return data

    def say(self, *frames: bytes) -> None:
        """Comes as soon as the host's time has come to."""
        self.arrive(self.pair.now_s, b"".join(frames))

    def arrive(self, at_s: float, data: bytes) -> None:
        """Late by its link's delay, and never before what was sent before it."""
        self.late_s = max(self.late_s, at_s + self.pair.delay_s(self))
        super().say(b"%d|" % (1_700_000_000_000_000_000 + round(self.late_s * 1e9)), data)

    def do_H(self, fields: list[str]) -> None:
        self.say(encode.hello_reply(f"fake-{self.name}", 1000))

    def do_G(self, fields: list[str]) -> None:
        super().do_G(fields)
        self.pair.stand_still()

    def do_M(self, fields: list[str]) -> None:
        if not self.counts:
            return self.say(encode.refuse("M", "no motor here"))
        self.say(encode.accept("M"))
        self.pair.travel(fields)
        return self.say(self.event("arrived"))

    def do_O(self, fields: list[str]) -> None:
        if not self.counts:
            return self.say(encode.refuse("O", "no motor here"))
        return super().do_O(fields)

    def frame(self, host_s: float, x_mm: float) -> bytes:
        """A sample at this moment."""
        self.t_us = (WRAP - 900_000 + round(1e6 * host_s * (1 + 1e-6 * self.ppm))) % WRAP
        self.seq = (self.seq + 1) % WRAP
        if self.counts:
            return encode.sample(self.seq, self.t_us, round(x_mm / 0.005), 0, None)
        return encode.sample(self.seq, self.t_us, 0, None, round(1000 * x_mm), 2150)


class FakePair:
    """A rig of two controllers in one world: the sensor reads the place it is at, in micrometres.

    Host time is made up: samples come 0 to 5 ms late, mostly little, and time goes on only while
    both stream. silent: names of ends that send no samples.
    """

    def __init__(self) -> None:
        self.clock = StampClock()
        self.now_s = 0.0
        self.x_mm = 0.0
        self.silent: set[str] = set()
        self.lost: dict[str, int] = {}
        self._rng = np.random.default_rng(3)
        self.sensor = FakeEnd(self, "probe", 40.0, counts=False)
        self.carriage = FakeEnd(self, "axis", -20.0, counts=True)
        self.opened: list[str] = []

    @property
    def ends(self) -> tuple[FakeEnd, FakeEnd]:
        """In the order of their numbers."""
        return self.sensor, self.carriage

    def open(self, port: str, baud: int, framing: str) -> FakeEnd:
        self.opened.append(port)
        return {"/dev/probe": self.sensor, "/dev/axis": self.carriage}[port]

    def delay_s(self, end: FakeEnd) -> float:
        return float(self._rng.exponential(0.005))

    def stand_still(self, for_s: float = 2.2) -> None:
        if self.carriage.rate_hz and self.sensor.rate_hz:
            self._stream(for_s, self.x_mm, self.x_mm)

    def travel(self, fields: list[str]) -> None:
        to_mm = self.x_mm if fields[0] == "" else 0.005 * int(fields[0])
        if self.carriage.rate_hz:
            self._stream(0.1, self.x_mm, self.x_mm)
            self._stream(abs(to_mm - self.x_mm) / (0.005 * int(fields[2])), self.x_mm, to_mm)
            self._stream(0.1, to_mm, to_mm)
        self.x_mm = to_mm

    def _stream(self, for_s: float, from_mm: float, to_mm: float) -> None:
        for end, phase_s in zip(self.ends, (0.0011, 0.0), strict=True):
            if end.name in self.silent:
                continue
            times = np.arange(phase_s, for_s, 1.0 / end.rate_hz)
            places = from_mm + (to_mm - from_mm) * times / for_s
            frames = list(map(end.frame, (self.now_s + times).tolist(), places.tolist()))
            kept = [n % 50 >= self.lost.get(end.name, 0) for n in range(len(frames))]
            for first in range(0, len(frames), 3):
                group = slice(first, first + 3)
                data = b"".join(
                    frame for frame, keep in zip(frames[group], kept[group], strict=True) if keep
                )
                if data:
                    end.arrive(self.now_s + times[group][-1], data)
        self.now_s += for_s


class NoteSink:
    """Remembers what a journal would be given."""

    def __init__(self) -> None:
        self.received = b""
        self.sent = b""
        self.links: set[int] = set()
        self.stamps: list[int] = []
        self.notes: list[dict[str, Any]] = []

    def rx(self, received: Sequence[Received]) -> None:
        self.received += b"".join(one.data for one in received)
        self.links.update(one.link for one in received)
        self.stamps += [one.t_ns for one in received]

    def tx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        self.sent += data

    def note(self, note: dict[str, Any]) -> None:
        self.notes.append(note)


@pytest.fixture
def rig_text() -> str:
    return RIG_TEXT


@pytest.fixture
def rig_file(rig_text: str) -> RigFile:
    return parse_rig(rig_text, "rig.yaml")


@pytest.fixture
def hand_rig_file(rig_text: str) -> RigFile:
    by_hand = rig_text.replace("drive: motor", "drive: hand")
    return parse_rig(by_hand.replace("  cross: {mm_per_count: 0.01}\n", ""), "hand.yaml")


@pytest.fixture
def pair_text(rig_text: str) -> str:
    """The same rig with sensor and carriage on a port each."""
    links = (
        "  axis: {port: /dev/axis, baud: 460800, protocol: line}\n"
        "  probe: {port: /dev/probe, baud: 460800, protocol: line}\n"
    )
    text = rig_text.replace("  rig: {port: /dev/fake, baud: 460800, protocol: line}\n", links)
    return text.replace("carriage:\n  link: rig", "carriage:\n  link: axis").replace(
        "sensor:\n  link: rig", "sensor:\n  link: probe"
    )


@pytest.fixture
def pair_file(pair_text: str) -> RigFile:
    return parse_rig(pair_text, "rig.yaml")


@pytest.fixture
def fake_pair() -> FakePair:
    return FakePair()


@pytest.fixture
def open_pair(sink: NoteSink, pair_file: RigFile) -> Iterator[Callable[[FakePair], Rig]]:
    """As open_rig, of two links."""
    opened: list[Rig] = []

    def make(pair: FakePair) -> Rig:
        opened.append(
            Rig(
                pair.ends,
                pair_file,
                sink,
                reopen=lambda number: pair.ends[number],
                silence_s=0.15,
                clock=pair.clock,
            )
        )
        return opened[-1]

    yield make
    for rig in opened:
        rig.close()
    assert not [thread for thread in threading.enumerate() if thread.name == "rig reader"]


@pytest.fixture
def fake_rig() -> type[FakeRig]:
    return FakeRig


@pytest.fixture
def sink() -> NoteSink:
    return NoteSink()


@pytest.fixture
def open_rig(sink: NoteSink) -> Iterator[Callable[[FakeRig, RigFile], Rig]]:
    """Rigs with little patience, closed after the test, with no thread left behind."""
    opened: list[Rig] = []

    def make(fake: FakeRig, rig_file: RigFile) -> Rig:
        opened.append(Rig([fake], rig_file, sink, reopen=lambda _: fake, silence_s=0.15))
        return opened[-1]

    yield make
    for rig in opened:
        rig.close()
    assert not [thread for thread in threading.enumerate() if thread.name == "rig reader"]


@pytest.fixture(autouse=True)
def own_locks(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rigs of tests do not meet the rigs of this machine."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
