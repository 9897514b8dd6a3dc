"""What happens, told to any number of clients; nobody who is slow holds anybody up."""

from __future__ import annotations

import json
import threading
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

MOST_CLIENTS = 32
MOST_KEPT = 1000
MOST_WAITING = 256
"""Events for one client: ten seconds of a live view."""
LIVE = "live"


@dataclass(frozen=True, slots=True)
class Event:
    """number: counts up over the kept ones, and is 0 for one that is past once it is told.

    data: JSON.
    """

    number: int
    kind: str
    data: str


class TooManyClients(Exception):
    """No more clients are let in."""


class Subscription:
    """One client's queue. cut: it was too slow, and what waited for it is gone."""

    def __init__(self, wake: Callable[[], None], *, live: bool) -> None:
        self.cut = False
        self.over = False
        self._live = live
        self._wake = wake
        self._waiting: deque[Event] = deque()
        self._lock = threading.Lock()

    def put(self, event: Event) -> None:
        """From any thread; never waits."""
        if event.kind == LIVE and not self._live:
            return
        with self._lock:
            if self.cut or self.over:
                return
            self._waiting.append(event)
            if len(self._waiting) > MOST_WAITING:
                self._waiting.clear()
                self.cut = True
        self._wake()

    def end(self) -> None:
        """No more comes."""
        with self._lock:
            self.over = True
        self._wake()

    def take(self) -> list[Event]:
        """All that waits, oldest first."""
        with self._lock:
            taken = list(self._waiting)
            self._waiting.clear()
        return taken


class Hub:
    """Hands every event to every client, and keeps the last ones for those who come back."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._clients: list[Subscription] = []
        self._kept: deque[Event] = deque(maxlen=MOST_KEPT)
        self._last = 0
        self._closed = False

    @property
    def last_number(self) -> int:
        """That of the newest kept event."""
        return self._last

    @property
    def clients(self) -> int:
        """How many listen."""
        return len(self._clients)

    def publish(self, kind: str, data: Mapping[str, Any], *, kept: bool = True) -> None:
        """From any thread; never waits for a client. kept: told later to those who missed it."""
        text = json.dumps(data, allow_nan=False, separators=(",", ":"))
        with self._lock:
            self._last += kept
            event = Event(self._last if kept else 0, kind, text)
            if kept:
                self._kept.append(event)
            for client in self._clients:
                client.put(event)

    @contextmanager
    def subscribed(
        self, wake: Callable[[], None], *, after: int | None, live: bool
    ) -> Iterator[Subscription]:
        """A client until the block ends.

        wake: called, from any thread, when there is something to take. after: the last event it
        knows, None where it wants only what comes from now on. Raises TooManyClients.
        """
        client = Subscription(wake, live=live)
        with self._lock:
            if len(self._clients) >= MOST_CLIENTS:
                raise TooManyClients
            # a number from before this daemon began means nothing: then all that is kept
            missed = after if after is not None and after <= self._last else 0
            if after is not None:
                for event in [event for event in self._kept if event.number > missed]:
                    client.put(event)
            self._clients.append(client)
            if self._closed:
                client.end()
        try:
            yield client
        finally:
            with self._lock:
                self._clients.remove(client)

    def close(self) -> None:
        """Every client is told that it is over."""
        with self._lock:
            self._closed = True
            for client in self._clients:
                client.end()
