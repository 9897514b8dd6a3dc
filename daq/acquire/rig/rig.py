"""A rig on its links: commands out, answers and samples in, every byte kept on the way."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager

from daq.acquire.links.clock import Clock, SteadyClock
from daq.acquire.links.controller import Controller, Heard, Hello, controllers_of
from daq.acquire.links.exchange import Exchange
from daq.acquire.links.patience import Patience
from daq.acquire.links.rig_faults import COMMANDS, RigStopped, stopped_line, stops
from daq.acquire.links.sink import Sink
from daq.acquire.rig.greeting import HELLO_S, Greeting
from daq.acquire.rig.place import Place
from daq.errors import NeckformError
from daq.files.rig import RigFile
from daq.link.base import Link
from daq.wire import commands
from daq.wire.commands import Command

SILENCE_S = 3.0
ANSWER_S = 10.0
"""Of the rig's own time, and only counted while samples come."""
STILL_S = 1.0
GATHER_S = 0.02
"""What is only watched is looked at some forty times a second: a quarter of the work."""
_MOTION = {"arrived": COMMANDS["M"], "homed": COMMANDS["O"]}


class Rig:
    """Owns the links, and the threads that read them, until `close`.

    links: open, in the order of `rig_file.used_links`. Sensor and carriage may hang on one
    controller or on one each: both stream, and what moves goes to the carriage's. Everything
    received goes to the sink, then through its link's decoder, then to whoever is listening. A
    command waits for its answer and raises RigError where there is none in `silence_s` of
    silence, RigRefused on N, RigStopped where the rig stops of itself. Commands that get no
    answer are sent again: each of them may be said twice.

    reopen: opens the link of this number again after it was lost.
    """

    def __init__(
        self,
        links: Sequence[Link],
        rig_file: RigFile,
        sink: Sink,
        *,
        reopen: Callable[[int], Link],
        silence_s: float = SILENCE_S,
        clock: Clock | None = None,
    ) -> None:
        self.place = Place(rig_file.carriage)
        self._silence_s = silence_s
        self._controllers = controllers_of(rig_file, tuple(links))
        self._sensor, self._carriage = self._controllers[0], self._controllers[-1]
        self._listeners: list[Callable[[Heard], None]] = []
        slice_s = min(0.1, silence_s / 4)
        self._exchange = Exchange(
            self._controllers, sink, clock or SteadyClock(), slice_s, self._hand_out
        )
        self._greeting = Greeting(self._exchange, self._controllers, reopen)

    @property
    def who(self) -> str:
        """The controller that samples come from, as messages call it."""
        return self._sensor.who

    @property
    def hellos(self) -> tuple[Hello, ...]:
        """What each controller said of itself, the sensor's first."""
        return self._greeting.hellos

    def hello(self, timeout_s: float = HELLO_S) -> None:
        """Asks until every controller answers. Raises RigError where one does not."""
        self._greeting.greet(timeout_s)

    def stream(self, rate_hz: float) -> None:
        """Samples from now on, at this rate; the carriage's first: a sample needs a place.

        What only counts streams no faster than it can: its places are interpolated.
        """
        for controller in reversed(self._controllers):
            controller.reset = controller.reset if controller.drives else None
            own_hz = rate_hz if controller.reads else min(rate_hz, controller.max_rate_hz)
            self._say(controller, commands.Stream(own_hz))
            patience = self._patience(controller, "go on sending", self._silence_s, math.inf)
            controller.watch_stream(own_hz, patience)

    def stop(self) -> None:
        """No more samples. What was under way has been received when this returns.

        Where one controller fails, the other is told all the same.
        """
        first: NeckformError | None = None
        for controller in self._controllers:
            try:
                self._say(controller, commands.Stop())
            except NeckformError as error:
                first = first or error
            controller.watch_no_more()
        if first is not None:
            raise first

    def home(self) -> None:
        """To the end stop; x and y are zero there."""
        self._carriage.reset = None
        self._carriage.events.clear()
        self._say(self._carriage, commands.Home(), done="homed")
        self._until("homed", self.place.homing_s, commands.Home())
        self.place.homed()

    def move(self, x_mm: float | None, y_mm: float | None, speed_mm_s: float | None) -> None:
        """A straight move, and its end. None keeps an axis, or leaves the speed to the rig.

        Raises RigError where x is outside the travel, or y is given and nothing drives it.
        """
        target = self.place.target(x_mm, y_mm)
        takes_s = self.place.takes_s(target, speed_mm_s)
        move = commands.Move(*target, self.place.speed_counts(speed_mm_s))
        self._carriage.events.clear()
        self.place.sent()
        self._say(self._carriage, move, done="arrived")
        self._until("arrived", takes_s, move, target[0])
        self.place.arrived(target)

    def halt(self) -> None:
        """Stands still at once."""
        self._say(self._carriage, commands.Halt())

    def keeping(self, sink: Sink) -> AbstractContextManager[None]:
        """Every byte that goes over the links meanwhile is kept there."""
        return self._exchange.keeping(sink)

    def cancel(self) -> None:
        """From any thread: stops what is under way, by a KeyboardInterrupt in the thread that
        uses the rig."""
        self._exchange.cancel()

    @property
    def waiting_bytes(self) -> int:
        """Received, and not yet looked at; from any thread."""
        return self._exchange.waiting_bytes

    def reconnect(self, wait_s: float) -> None:
        """Opens every link that was lost again, as soon as its port is there.

        A controller that was without power counts from elsewhere: before it moves or streams it
        must be homed, and nothing does that by itself. Raises RigError where a port is not there
        within `wait_s`, does not answer, or another controller answers on it.
        """
        self._greeting.reconnect(wait_s)

    @property
    def lost_its_place(self) -> bool:
        """Whether it was reset and not homed since."""
        return self._carriage.reset is not None

    def pump(self) -> Iterator[Heard]:
        """What streams in, piece by piece, for as long as the caller wants. Raises on silence."""
        while True:
            yield from self._exchange.receive(None, gather_s=GATHER_S)

    def take_in(self) -> None:
        """What has come, if anything has within a moment: kept, and handed to who listens."""
        self._exchange.receive(None, gather_s=GATHER_S)

    @contextmanager
    def listening(self, listener: Callable[[Heard], None]) -> Iterator[None]:
        """Everything received meanwhile goes to `listener` as well, after those before it."""
        self._listeners.append(listener)
        try:
            yield
        finally:
            self._listeners.remove(listener)

    def close(self) -> None:
        """Ends the reading and lets the ports go."""
        self._exchange.close()

    def _say(self, controller: Controller, command: Command, done: str = "") -> None:
        awaited = f"answer {COMMANDS[command.letter]}"
        patience = self._patience(controller, awaited, self._silence_s)
        self._check_place(command)
        self._exchange.ask(controller, command, patience, done, again_s=self._silence_s / 3)
        self._check_place(command)

    def _check_place(self, command: Command) -> None:
        """A rig that was reset no longer knows where it is, until it is homed."""
        if self._carriage.reset is not None and command.letter in "GM":
            raise RigStopped(stopped_line(self._carriage.reset))

    def _until(
        self, word: str, takes_s: float, command: Command, target: int | None = None
    ) -> None:
        """Waits for the event that ends a motion, however long the motion may take."""
        carriage = self._carriage
        silence_s = self._silence_s if carriage.watch else 3 * takes_s + self._silence_s
        awaited = f"finish {_MOTION[word]}"
        patience = self._patience(carriage, awaited, silence_s, 3 * takes_s + ANSWER_S)
        nudged = False
        while not self._ended(word):
            if self.place.near(target) and self.place.still_s >= STILL_S:
                return  # its end was said, and damaged on its way
            if not nudged and patience.waited_s > 1.5 * takes_s + self._silence_s / 2:
                self._exchange.send(carriage, command)
                nudged = True
            self._exchange.receive(carriage, patience, GATHER_S if carriage.watch else 0.0)

    def _ended(self, word: str) -> bool:
        sensor = self._sensor
        if sensor.watch and sensor.reset and not sensor.drives:
            raise RigStopped(stopped_line(sensor.reset, drives=False))
        for event in self._carriage.events:
            if event.word == word:
                return True
            if stops(event) and not (word == "homed" and event.word == "endstop"):
                raise RigStopped(stopped_line(event))
        return False

    def _hand_out(self, heard: Heard) -> None:
        if heard.drives:
            self.place.seen(heard.batch.samples)
        for listener in self._listeners:
            listener(heard)

    def _patience(
        self, controller: Controller, awaited: str, silence_s: float, device_s: float = ANSWER_S
    ) -> Patience:
        now_s = time.monotonic()
        return Patience(controller.who, awaited, silence_s, device_s, now_s, controller.said)
