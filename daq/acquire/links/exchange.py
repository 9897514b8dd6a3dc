"""All that goes over the links of a rig: kept, decoded, handed out, and waited for."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress

from daq.acquire.links.clock import Clock
from daq.acquire.links.controller import Controller, Heard
from daq.acquire.links.inbox import Chunk, Ended, Inbox
from daq.acquire.links.patience import Patience
from daq.acquire.links.reader import Reader
from daq.acquire.links.rig_faults import RigRefused
from daq.acquire.links.sink import Sink
from daq.errors import RigError
from daq.link.base import Link
from daq.link.faults import LinkLost
from daq.record.notes import Reconnected
from daq.wire.commands import Command
from daq.wire.records import Reply

Listener = Callable[[Heard], None]
ASKED_GATHER_S = 0.003
"""A device that is asked waits for its next question until its answer was looked at."""


class Exchange:
    """Owns the links, and a thread that reads each, until `close`.

    Everything received goes to the sink, then through its link's decoder, then to the listener;
    which hears of every turn of a link that streams, of one that brought nothing too.
    """

    def __init__(
        self,
        controllers: tuple[Controller, ...],
        sink: Sink,
        clock: Clock,
        slice_s: float,
        listener: Listener,
    ) -> None:
        self._controllers = controllers
        self._sink = sink
        self._clock = clock
        self._slice_s = slice_s
        self._listener = listener
        self._cancelled = threading.Event()
        self._inbox = Inbox()
        self._readers = [Reader(c.link, clock, self._inbox, c.number) for c in controllers]

    @property
    def waiting_bytes(self) -> int:
        """Received, and not yet taken."""
        return self._inbox.waiting_bytes

    @property
    def lost(self) -> list[Controller]:
        """Those from which nothing comes any more."""
        return [controller for controller in self._controllers if controller.fault is not None]

    @contextmanager
    def keeping(self, sink: Sink) -> Iterator[None]:
        """Everything that goes over the links meanwhile goes to this sink."""
        before, self._sink = self._sink, sink
        try:
            yield
        finally:
            self._sink = before

    def cancel(self) -> None:
        """From any thread: the next `receive` raises KeyboardInterrupt, once."""
        self._cancelled.set()

    def replace(self, controller: Controller, link: Link) -> None:
        """The link of a controller that was lost, opened again. The record is told."""
        number = controller.number
        self._readers[number].close()
        while not self._inbox.is_empty:  # what it still sent, and that it ended, is from before
            self.receive(None)
        with suppress(RigError):  # it is gone already
            controller.link.close()
        controller.begin_anew(link)
        self._sink.note(Reconnected(number).as_note())
        self._readers[number] = Reader(link, self._clock, self._inbox, number)

    def ask(
        self,
        controller: Controller,
        command: Command,
        patience: Patience,
        done: str = "",
        *,
        again_s: float,
    ) -> Reply:
        """Sends a command, again each `again_s`, until its answer or its result is there.

        Raises RigRefused on N, and what `receive` does.
        """
        controller.replies.clear()
        sent = 0
        while (reply := controller.answer(command.letter, done)) is None:
            if patience.waited_s >= sent * again_s:
                self.send(controller, command)
                sent += 1
            self.receive(controller, patience)
        if reply.kind == "N":
            raise RigRefused(controller.who, *reply.fields)
        return reply

    def send(self, controller: Controller, command: Command) -> None:
        """A command to one controller."""
        self._write(controller, controller.talk.say(command, time.monotonic()))

    def _write(self, controller: Controller, data: bytes) -> None:
        if not data:
            return
        # out first, written down after: a journal on a full disk must not keep a halt from the rig
        t_ns = self._clock.now_ns()
        try:
            controller.link.write(data)
        except LinkLost as lost:
            controller.watch_no_more(lost)
            raise
        self._sink.tx(t_ns, data, controller.number)

    def receive(
        self, on: Controller | None, patience: Patience | None = None, gather_s: float = 0.0
    ) -> list[Heard]:
        """What has come, or nothing within a moment, from every link.

        on, patience: who is waited for, and how long yet; the others are only watched while
        they stream. gather_s: as `Inbox.take`.

        Raises RigError for a silence too long, noise, and a link that has ended: of one that is
        not waited for only once, so that the others can still be halted. KeyboardInterrupt after
        `cancel`.
        """
        if self._cancelled.is_set():
            self._cancelled.clear()
            raise KeyboardInterrupt
        if on is not None and on.fault is not None:
            raise on.fault
        began_s = time.monotonic()
        due_in_s = self._ask_due(began_s)
        if due_in_s < math.inf:
            gather_s = min(gather_s, ASKED_GATHER_S)
        slice_s = min(self._slice_s, due_in_s)
        items = self._inbox.take(slice_s, gather_s)
        now_s = time.monotonic()
        waited_s = min(now_s - began_s, slice_s) if items else slice_s
        chunks = [item for item in items if isinstance(item, Chunk)]
        if chunks:
            self._sink.rx(chunks)
        texts = [b"".join(c.data for c in chunks if c.link == n.number) for n in self._controllers]
        heard = [
            controller.hear(data, _stamps(chunks, controller.number), now_s)
            for controller, data in zip(self._controllers, texts, strict=True)
        ]
        # All are decoded before anybody hears of it: a listener may raise, and no byte is missed.
        for controller, one, data in zip(self._controllers, heard, texts, strict=True):
            if data or controller.stream is not None:
                self._listener(one)
        for controller, one, data in zip(self._controllers, heard, texts, strict=True):
            watch = patience if controller is on else controller.watch
            if watch is not None and data:
                watch.heard(data, one.batch, now_s)
            elif watch is not None:
                watch.quiet(waited_s)
        self._raise_ended([item for item in items if isinstance(item, Ended)])
        return [one for one, data in zip(heard, texts, strict=True) if data]

    def _ask_due(self, now_s: float) -> float:
        """Asks the devices that only answer; returns how soon they want to be asked again."""
        for controller in self._controllers:
            if controller.fault is None:
                self._write(controller, controller.talk.due(now_s))
        return min(max(0.0, each.talk.due_in_s(now_s)) for each in self._controllers)

    def close(self) -> None:
        """Ends the reading and lets the ports go."""
        with ExitStack() as everything:
            for controller in self._controllers:
                everything.callback(controller.link.close)
            for reader in self._readers:
                everything.callback(reader.close)

    def _raise_ended(self, ended: list[Ended]) -> None:
        # Of a link that would not be written to it is known: a loss is told once.
        news = [one for one in ended if self._controllers[one.link].fault is None]
        for one in news:
            self._controllers[one.link].watch_no_more(one.fault)
        for one in news:
            raise one.fault


def _stamps(chunks: list[Chunk], link: int) -> list[tuple[int, int]]:
    """When the chunks of a link came, and how long they are."""
    return [(chunk.t_ns, len(chunk.data)) for chunk in chunks if chunk.link == link]
