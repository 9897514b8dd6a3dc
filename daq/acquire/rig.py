"""A rig on a link: commands out, answers and samples in, every byte kept on the way."""

from __future__ import annotations

import math
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from daq.acquire.clock import SteadyClock
from daq.acquire.patience import Patience
from daq.acquire.place import Place
from daq.acquire.reader import Reader
from daq.acquire.rig_faults import COMMANDS, RigRefused, RigStopped, stops
from daq.acquire.sink import Sink
from daq.errors import RigError
from daq.files.rig import RigFile
from daq.link.base import Link
from daq.wire import encode
from daq.wire.decode import LineDecoder
from daq.wire.records import Batch, Event, Reply

Listener = Callable[[Batch], None]
VERSION = "1"
SILENCE_S = 3.0
HELLO_S = 6.0
HELLO_AGAIN_S = 0.3
ANSWER_S = 10.0
"""Of the rig's own time, and only counted while samples come."""
STILL_S = 1.0
_MOTION = {"arrived": COMMANDS["M"], "homed": COMMANDS["O"]}


@dataclass(frozen=True, slots=True)
class Hello:
    """What a rig says of itself."""

    protocol: int
    device_id: str
    max_rate_hz: float


class Rig:
    """Owns the link, and the thread that reads it, until `close`.

    Everything received goes to the sink, then through one decoder, then to the listener if
    there is one. A command waits for its answer and raises RigError where there is none in
    `silence_s` of silence, RigRefused on N, RigStopped where the rig stops of itself.
    Commands that get no answer are sent again: each of them may be said twice.
    """

    def __init__(
        self, link: Link, rig_file: RigFile, sink: Sink, *, silence_s: float = SILENCE_S
    ) -> None:
        self.port = rig_file.link.port
        self.place = Place(rig_file.carriage)
        self._link = link
        self._sink = sink
        self._silence_s = silence_s
        self._slice_s = min(0.1, silence_s / 4)
        self._clock = SteadyClock()
        self._decoder = LineDecoder()
        self._replies: deque[Reply] = deque()
        self._events: list[Event] = []
        self._listener: Listener | None = None
        self._streaming = False
        self._reset: Event | None = None
        self._reader = Reader(link, self._clock)

    def hello(self, timeout_s: float = HELLO_S) -> Hello:
        """Asks until the rig answers: opening a port resets many a board, which needs a moment."""
        patience = self._patience("answer hello", timeout_s)
        reply = self._answer("H", encode.hello(), patience, again_s=HELLO_AGAIN_S)
        version, device_id, rate_hz = reply.fields
        if version != VERSION:
            raise RigError(
                f"the rig on {self.port} speaks protocol {version}, and this program only "
                f"protocol {VERSION}; bring one of them up to date"
            )
        self._reset = None
        return Hello(int(version), device_id, float(rate_hz))

    def stream(self, rate_hz: float) -> None:
        """Samples from now on, at this rate."""
        self._say("G", encode.stream(rate_hz))
        self._streaming = True

    def stop(self) -> None:
        """No more samples. What was under way has been received when this returns."""
        self._say("X", encode.stop())
        self._streaming = False

    def home(self) -> None:
        """To the end stop; x and y are zero there."""
        self._reset = None
        self._events.clear()
        self._say("O", encode.home(), done="homed")
        self._until("homed", self.place.homing_s, encode.home())
        self.place.homed()

    def move(self, x_mm: float | None, y_mm: float | None, speed_mm_s: float | None) -> None:
        """A straight move, and its end. None keeps an axis, or leaves the speed to the rig.

        Raises RigError where x is outside the travel, or y is given and nothing drives it.
        """
        target = self.place.target(x_mm, y_mm)
        takes_s = self.place.takes_s(target, speed_mm_s)
        frame = encode.move(*target, self.place.speed_counts(speed_mm_s))
        self._events.clear()
        self.place.sent()
        self._say("M", frame, done="arrived")
        self._until("arrived", takes_s, frame, target[0])
        self.place.arrived(target)

    def halt(self) -> None:
        """Stands still at once."""
        self._say("K", encode.halt())

    @property
    def lost_its_place(self) -> bool:
        """Whether it was reset and not homed since."""
        return self._reset is not None

    def pump(self) -> Iterator[Batch]:
        """What comes, batch by batch, for as long as the caller wants. Raises on silence."""
        patience = self._patience("go on sending", self._silence_s, math.inf)
        while True:
            batch = self._receive(patience)
            if batch is not None:
                yield batch

    @contextmanager
    def listening(self, listener: Listener) -> Iterator[None]:
        """Every batch received meanwhile goes to `listener` as well."""
        self._listener = listener
        try:
            yield
        finally:
            self._listener = None

    def close(self) -> None:
        """Ends the reading and lets the port go."""
        self._reader.close()
        self._link.close()

    def _say(self, letter: str, frame: bytes, done: str = "") -> None:
        patience = self._patience(f"answer {COMMANDS[letter]}", self._silence_s)
        self._check_place(letter)
        self._answer(letter, frame, patience, done, again_s=self._silence_s / 3)
        self._check_place(letter)

    def _check_place(self, letter: str) -> None:
        """A rig that was reset no longer knows where it is, until it is homed."""
        if self._reset is not None and letter in "GM":
            raise RigStopped(self._reset)

    def _answer(
        self, letter: str, frame: bytes, patience: Patience, done: str = "", *, again_s: float
    ) -> Reply:
        """Sends a command, again each `again_s`, until its answer or its result is there."""
        self._replies.clear()
        sent = 0
        while (reply := self._found(letter, done)) is None:
            if patience.waited_s >= sent * again_s:
                self._send(frame)
                sent += 1
            self._receive(patience)
        if reply.kind == "N":
            raise RigRefused(self.port, *reply.fields)
        return reply

    def _found(self, letter: str, done: str) -> Reply | None:
        while self._replies:
            reply = self._replies.popleft()
            if reply.kind == letter or (reply.kind != "H" and reply.fields[0] == letter):
                return reply
        if done and any(event.word == done for event in self._events):
            return Reply("A", (letter,), 0)  # the answer was damaged on its way, the result not
        return None

    def _until(self, word: str, takes_s: float, frame: bytes, target: int | None = None) -> None:
        """Waits for the event that ends a motion, however long the motion may take."""
        silence_s = self._silence_s if self._streaming else 3 * takes_s + self._silence_s
        patience = self._patience(f"finish {_MOTION[word]}", silence_s, 3 * takes_s + ANSWER_S)
        nudged = False
        while not self._ended(word):
            if self.place.near(target) and self.place.still_s >= STILL_S:
                return  # its end was said, and damaged on its way
            if not nudged and patience.waited_s > 1.5 * takes_s + self._silence_s / 2:
                self._send(frame)
                nudged = True
            self._receive(patience)

    def _ended(self, word: str) -> bool:
        for event in self._events:
            if event.word == word:
                return True
            if stops(event) and not (word == "homed" and event.word == "endstop"):
                raise RigStopped(event)
        return False

    def _receive(self, patience: Patience) -> Batch | None:
        chunks = self._reader.take(self._slice_s)
        if not chunks:
            patience.quiet(self._slice_s)
            return None
        for chunk in chunks:
            self._sink.rx(chunk.t_ns, chunk.data)
        data = b"".join(chunk.data for chunk in chunks)
        batch = self._decoder.feed(data)
        self._hand_out(batch)
        patience.heard(data, batch, time.monotonic())
        return batch

    def _hand_out(self, batch: Batch) -> None:
        self._replies.extend(batch.replies)
        self._events.extend(batch.events)
        self._reset = next((e for e in batch.events if e.word == "reset"), self._reset)
        self.place.seen(batch.samples)
        if self._listener is not None:
            self._listener(batch)

    def _send(self, frame: bytes) -> None:
        # out first, written down after: a journal on a full disk must not keep a halt from the rig
        t_ns = self._clock.now_ns()
        self._link.write(frame)
        self._sink.tx(t_ns, frame)

    def _patience(self, awaited: str, silence_s: float, device_s: float = ANSWER_S) -> Patience:
        return Patience(self.port, awaited, silence_s, device_s, time.monotonic())
