"""What one connection of the rig brings, told to the clients and the log as it comes."""

from __future__ import annotations

import logging
import time

from daq.acquire.links.controller import Heard
from daq.acquire.links.rig_faults import stopped_line, stops
from daq.acquire.links.stream_fault import Changes
from daq.daemon.hub import LIVE, Hub
from daq.daemon.live import Live
from daq.errors import RigError
from daq.files.rig import RigFile

SAY_EACH_S = 60.0
LOG = logging.getLogger("neckform.rig")


class Watching:
    """Hears a rig from when it is connected until it is lost."""

    def __init__(self, rig_file: RigFile, hub: Hub) -> None:
        self.live = Live(rig_file)
        self._hub = hub
        self._faults = Changes()
        self._events = Seldom()

    @property
    def faults(self) -> list[str]:
        """What is wrong with its streams now, a line each; from any thread."""
        return [fault.text for fault in list(self._faults.present.values())]

    def hear(self, heard: Heard) -> None:
        """The next piece."""
        now_s = time.monotonic()
        message = self.live.add(heard, now_s)
        if message is not None and self._hub.clients:
            self._hub.publish(LIVE, message, kept=False)
        self._tell_faults(heard)
        for event in heard.batch.events:
            if self._events.is_new(event.word, now_s):
                self._hub.publish("rig_event", {"word": event.word, "text": event.text})
                LOG.info("rig_event", extra={"word": event.word, "text": event.text})

    def begin_pass(self) -> None:
        """What is drawn along the rail begins anew."""
        self.live.profile.clear()
        self._hub.publish("profile_cleared", {}, kept=False)

    def _tell_faults(self, heard: Heard) -> None:
        begun, over = self._faults.of(heard.link, heard.faults)
        for fault in begun:
            self._hub.publish("fault", {"kind": fault.kind, "text": fault.text})
            LOG.warning("fault", extra={"kind": fault.kind, "why": fault.text})
        for fault in over:
            self._hub.publish("fault_over", {"kind": fault.kind})
            LOG.info("fault_over", extra={"kind": fault.kind})


class Seldom:
    """Says each word once a minute, however often it comes: a log must not be flooded."""

    def __init__(self) -> None:
        self._said_s: dict[str, float] = {}

    def is_new(self, word: str, now_s: float) -> bool:
        """Whether it was not said for a minute; then it is now."""
        if now_s - self._said_s.get(word, -SAY_EACH_S) < SAY_EACH_S:
            return False
        self._said_s[word] = now_s
        return True


def raise_reset(heard: Heard) -> None:
    """A rig that starts anew while it is idle streams no more: RigError, to greet it again."""
    for event in heard.batch.events:
        if event.word == "reset" and stops(event, drives=heard.drives):
            raise RigError(stopped_line(event, drives=heard.drives))
