"""A scripted rig behind a fake link: bytes in, bytes out, no port and no waiting for one."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from daq.acquire.rig import Rig
from daq.errors import RigError
from daq.files.rig import RigFile, parse_rig
from daq.wire import encode

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
            self.on.get(letter, getattr(FakeRig, f"do_{letter}"))(self, fields)

    def close(self) -> None:
        self.closed = True

    # What tests use.

    def say(self, *frames: bytes) -> None:
        with self._changed:
            self._out.append(b"".join(frames))
            self._changed.notify_all()

    def pull(self) -> None:
        with self._changed:
            self._fault = RigError("the cable to /dev/fake came loose")
            self._changed.notify_all()

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


class NoteSink:
    """Remembers what a journal would be given."""

    def __init__(self) -> None:
        self.received = b""
        self.sent = b""
        self.stamps: list[int] = []
        self.notes: list[dict[str, Any]] = []

    def rx(self, t_ns: int, data: bytes) -> None:
        self.received += data
        self.stamps.append(t_ns)

    def tx(self, t_ns: int, data: bytes) -> None:
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
        opened.append(Rig(fake, rig_file, sink, silence_s=0.15))
        return opened[-1]

    yield make
    for rig in opened:
        rig.close()
    assert not [thread for thread in threading.enumerate() if thread.name == "rig reader"]


@pytest.fixture(autouse=True)
def own_locks(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rigs of tests do not meet the rigs of this machine."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
