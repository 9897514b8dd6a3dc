"""One controller of a rig: what it is called, what it answered, what it said by itself."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.acquire.links.looks_like import Said
from daq.acquire.links.patience import Patience
from daq.acquire.links.stream_fault import StreamFault
from daq.acquire.links.stream_watch import StreamWatch
from daq.files.rig import RigFile
from daq.link.base import Link
from daq.wire.arrivals import arrivals_ns, timed_by_arrival
from daq.wire.dialect import Dialect
from daq.wire.records import Batch, Event, Reply


@dataclass(frozen=True, slots=True)
class Hello:
    """What a controller says of itself."""

    protocol: int
    device_id: str
    max_rate_hz: float


@dataclass(frozen=True, slots=True)
class Heard:
    """What one controller sent in one go.

    link: its number. reads: the sensor hangs on it. drives: the carriage does. On a rig of one
    link both do. arrival_ns: int64[n], when each sample of the batch had come. faults: what is
    wrong with its stream at this moment.
    """

    link: int
    reads: bool
    drives: bool
    batch: Batch
    arrival_ns: NDArray[np.int64]
    faults: tuple[StreamFault, ...] = ()


class Controller:
    """The state of one link's conversation.

    who: as it stands in messages. baud: as the rig file has it. watch: while it streams, how
    long it may be silent; stream: what is wrong with that. fault: why nothing comes from it any
    more. reset: the event, until it was seen to.
    """

    def __init__(
        self,
        number: int,
        who: str,
        link: Link,
        dialect: Dialect,
        baud: int,
        *,
        reads: bool,
        drives: bool,
    ) -> None:
        self.number = number
        self.who = who
        self.link = link
        self.reads = reads
        self.drives = drives
        self.max_rate_hz = math.inf
        self.replies: deque[Reply] = deque()
        self.events: list[Event] = []
        self.said = Said(dialect.protocol, baud)
        self.watch: Patience | None = None
        self.stream: StreamWatch | None = None
        self.fault: Exception | None = None
        self.reset: Event | None = None
        self._dialect = dialect
        self._decoder = dialect.decoder()
        self.talk = dialect.talk()

    def begin_anew(self, link: Link) -> None:
        """Its port was lost and is open again: nothing said or begun before counts any more."""
        self.link = link
        self.replies.clear()
        self.events.clear()
        self.watch = self.stream = self.fault = None
        self._decoder = self._dialect.decoder(skip_first=True)
        self.talk = self._dialect.talk()

    def hear(self, data: bytes, stamps: list[tuple[int, int]], now_s: float) -> Heard:
        """Decodes what came; answers and events are kept until they are asked for.

        stamps: of the arrivals that `data` is put together from: when, and how many bytes.
        now_s: monotonic seconds.
        """
        batch = self._decoder.feed(data)
        arrivals = arrivals_ns(batch, stamps)
        if not self._dialect.has_clock:
            batch = timed_by_arrival(batch, arrivals)
        batch = self.talk.hear(batch, now_s)
        self.replies.extend(batch.replies)
        self.events.extend(batch.events)
        self.reset = next((e for e in batch.events if e.word == "reset"), self.reset)
        faults = () if self.stream is None else self.stream.turn(data, batch, now_s)
        return Heard(self.number, self.reads, self.drives, batch, arrivals, faults)

    def watch_stream(self, rate_hz: float, patience: Patience) -> None:
        """It streams from now on at this rate."""
        self.watch = patience
        self.stream = StreamWatch(self.who, rate_hz, self.said, has_clock=self._dialect.has_clock)

    def watch_no_more(self, fault: Exception | None = None) -> None:
        """It streams no more; fault: because nothing comes from it any more."""
        self.watch = self.stream = None
        self.fault = self.fault or fault

    def answer(self, letter: str, done: str) -> Reply | None:
        """The answer to this command, None while there is none.

        done: the event that says the same where the answer was damaged on its way.
        """
        while self.replies:
            reply = self.replies.popleft()
            if reply.kind == letter or (reply.kind != "H" and reply.fields[0] == letter):
                return reply
        if done and any(event.word == done for event in self.events):
            return Reply("A", (letter,), 0)
        return None


def who_is_on(rig_file: RigFile, number: int) -> str:
    """What to call the controller on a link of a rig file."""
    port = rig_file.used_links[number].port
    if len(rig_file.link_names) == 1:
        return f"the rig on {port}"
    part = "carriage" if number else "sensor"
    return f"the {part}'s controller on {port} (link {rig_file.link_names[number]})"


def controllers_of(rig_file: RigFile, links: tuple[Link, ...]) -> tuple[Controller, ...]:
    """One for each link in use, the sensor's first; `links` in the order of `used_links`."""
    last = len(links) - 1
    return tuple(
        Controller(
            at,
            who_is_on(rig_file, at),
            link,
            rig_file.dialects[at],
            rig_file.used_links[at].baud,
            reads=at == 0,
            drives=at == last,
        )
        for at, link in enumerate(links)
    )
