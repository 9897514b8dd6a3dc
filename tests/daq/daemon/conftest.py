"""A daemon on a scripted rig: a real server on a port of its own, and what it leaves behind."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest

from daq.acquire.passes.lanes import PassPlan, both_ways, straight_lane
from daq.daemon.app import Served, make_app
from daq.daemon.health import Doctor
from daq.daemon.hosts import Names
from daq.daemon.http import listening_on, serving
from daq.daemon.hub import Hub
from daq.daemon.keeper import Keeper
from daq.daemon.register import Entry
from daq.daemon.security import Guard
from daq.errors import RigError
from daq.files.rig import RigFile, parse_rig
from daq.record.notes import ScanBegin
from daq.wire.line import encode
from daq.workshop.place import Workshop

PROGRAM = "neckform 0.0"
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


class LiveRig:
    """Speaks the line protocol and streams as fast as it is read, a block a read.

    gone: whether its port is there; pulled: the open port fails. holding: moves do not arrive.
    muted: it streams nothing.
    """

    def __init__(self) -> None:
        self.gone = self.pulled = False
        self.holding = self.muted = False
        self.opened = 0
        self.commands: list[str] = []
        self.x = self.seq = self.t_us = 0
        self.rate_hz = 0
        self._out = b""
        self._changed = threading.Condition()

    def open(self, _port: str, _baud: int, _framing: str) -> LiveRig:
        if self.gone:
            raise RigError("there is no port /dev/fake")
        self.opened += 1
        self.pulled, self.rate_hz = False, 0
        return self

    def read(self) -> bytes:
        with self._changed:
            self._changed.wait_for(lambda: self._out or self.pulled, 0.01)
            if self.pulled:
                raise RigError("the cable to /dev/fake came loose")
            out, self._out = self._out, b""
            return out + self.samples(4) if self.rate_hz and not self.muted else out

    def write(self, data: bytes) -> None:
        if self.pulled:
            raise RigError("the cable to /dev/fake came loose")
        with self._changed:
            for line in data.splitlines():
                self._obey(*line.rpartition(b"*")[0].decode().split(","))
            self._changed.notify_all()

    def close(self) -> None:
        """Nothing to let go."""

    def say(self, frame: bytes) -> None:
        with self._changed:
            self._out += frame
            self._changed.notify_all()

    def samples(self, count: int) -> bytes:
        frames = b""
        for _ in range(count):
            self.seq, self.t_us = self.seq + 1, self.t_us + 2500
            frames += encode.sample(self.seq, self.t_us, self.x, None, 1500 + self.seq % 3)
        return frames

    def _obey(self, letter: str, *fields: str) -> None:
        self.commands.append(letter)
        if letter == "H":
            self._out += encode.hello_reply("live-1", 1000)
            return
        self._out += encode.accept(letter)
        if letter in "GX":
            self.rate_hz = 400 if letter == "G" else 0
        elif letter == "K":
            self._out += encode.event(self.t_us, "halted")
        elif letter == "O":
            self.x = 0
            self._out += encode.event(self.t_us, "homed")
        elif not self.holding:
            self._travel(int(fields[0] or self.x), int(fields[2] or 5000))

    def _travel(self, to_x: int, speed: int) -> None:
        from_x = self.x
        if self.rate_hz:
            count = max(round(abs(to_x - from_x) / speed * self.rate_hz), 2)
            for n in range(1, count + 1):
                self.x = from_x + (to_x - from_x) * n // count
                self._out += self.samples(1)
        self.x = to_x
        self._out += encode.event(self.t_us, "arrived")


class Bench:
    """A running daemon. root: its workshop."""

    def __init__(self, rig: LiveRig, rig_file: RigFile, root: Path, token: str | None) -> None:
        self.rig, self.rig_file, self.root, self.token = rig, rig_file, root, token
        self.hub = Hub()
        self.keeper = Keeper(rig_file, root, self.hub, rig.open)
        self.port = 0
        self._running = ExitStack()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def entry(self) -> Entry:
        root = str(self.root.resolve())
        return Entry(1, "serve", "now", self.url, PROGRAM, root, self.rig_file.text, self.token)

    def start(self) -> None:
        workshop = Workshop(self.root)
        door = self._running.enter_context(listening_on("127.0.0.1", 0))
        self.port = door.getsockname()[1]
        served = Served(
            self.keeper, self.hub, Doctor(self.keeper, workshop), PROGRAM, str(self.root)
        )
        app = Guard(make_app(served), Names("127.0.0.1", self.port), self.token)
        self._running.enter_context(serving(app, door, lambda: None))
        self._running.callback(self.hub.close)
        self.keeper.start()
        self._running.callback(self.keeper.close)

    def stop(self) -> None:
        self._running.close()

    def until(self, so: Callable[[], bool], within_s: float = 5.0) -> None:
        """Waits for what an event has told or will tell."""
        awake = threading.Event()
        with self.hub.subscribed(awake.set, after=None, live=True):
            end_s = time.monotonic() + within_s
            while not so():
                assert time.monotonic() < end_s, "it did not come to that"
                awake.wait(0.2)
                awake.clear()

    def until_state(self, word: str) -> None:
        self.until(lambda: self.keeper.state.word == word)


@pytest.fixture
def rig_file() -> RigFile:
    return parse_rig(RIG_TEXT, "rig.yaml")


@pytest.fixture
def live_rig() -> LiveRig:
    return LiveRig()


@pytest.fixture
def make_bench(
    live_rig: LiveRig, rig_file: RigFile, tmp_path: Path
) -> Iterator[Callable[[str | None], Bench]]:
    made: list[Bench] = []
    before = set(threading.enumerate())

    def make(token: str | None) -> Bench:
        made.append(Bench(live_rig, rig_file, tmp_path / "workshop", token))
        made[-1].root.mkdir()
        made[-1].start()
        return made[-1]

    yield make
    for bench in made:
        bench.stop()
    left = set(threading.enumerate()) - before
    for thread in left:
        thread.join(3)  # the event loop's own helpers see its end a moment later
    assert not [thread for thread in left if thread.is_alive()]


@pytest.fixture
def bench(make_bench: Callable[[str | None], Bench]) -> Bench:
    """Its rig is watched already."""
    made = make_bench(None)
    made.until_state("watching")
    return made


@pytest.fixture
def client(bench: Bench) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=bench.url, timeout=10) as client:
        yield client


@pytest.fixture
def begin(rig_file: RigFile) -> ScanBegin:
    return ScanBegin(
        "0" * 16,
        "check",
        None,
        "",
        "",
        "2026-01-01T00:00:00+00:00",
        PROGRAM,
        rig_file.text,
        None,
        {},
    )


@pytest.fixture
def passes(rig_file: RigFile) -> tuple[PassPlan, ...]:
    return both_ways([straight_lane(rig_file)], 25.0)


@pytest.fixture(autouse=True)
def own_runtime_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rigs of tests do not meet the rigs of this machine."""
    folder = tmp_path / "runtime"
    folder.mkdir(mode=0o700)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(folder))
