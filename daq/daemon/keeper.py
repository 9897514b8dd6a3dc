"""The one thread that uses the rig: it watches when idle, works when asked, and comes back."""

from __future__ import annotations

import logging
import threading
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from daq.acquire.links.controller import Hello
from daq.acquire.rig.rig import Rig
from daq.acquire.rig.session import OpenLink, rig_session
from daq.daemon.doing import do
from daq.daemon.hub import Hub
from daq.daemon.kept_rig import KeptRig
from daq.daemon.progress import HubProgress
from daq.daemon.results import to_json
from daq.daemon.stepping import first_question
from daq.daemon.watching import Watching, raise_reset
from daq.daemon.work import Work, job_of
from daq.daemon.works import Running, Works
from daq.errors import NeckformError, RigError
from daq.files.rig import RigFile
from daq.steps.recording import Operator, Stopped
from daq.workshop.place import Workshop

FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 10.0
END_S = 4.0
LOG = logging.getLogger("neckform.rig")


@dataclass(frozen=True, slots=True)
class RigState:
    """word: connecting, watching, working, gone or ended. why: the fault, where it is gone.

    hellos: what its controllers said of themselves.
    """

    word: Literal["connecting", "watching", "working", "gone", "ended"]
    since: datetime
    why: str = ""
    hellos: tuple[Hello, ...] = ()


class Keeper:
    """Holds the rig from `start` to `close`, through every fault.

    It never moves the carriage by itself: only a work does. What goes wrong with the rig while
    it is idle is told and logged, the ports are let go, and opened again after a wait that grows.
    """

    def __init__(self, rig_file: RigFile, root: Path, hub: Hub, open_link: OpenLink) -> None:
        self.rig_file = rig_file
        self.works = Works(hub)
        self.watching = Watching(rig_file, hub)
        self.last_fault: tuple[datetime, str] | None = None
        self.connections = 0
        self._workshop = Workshop(root)
        self._hub = hub
        self._open_link = open_link
        self._closing = threading.Event()
        self._rig: Rig | None = None
        self._state = RigState("connecting", datetime.now(UTC))
        self._thread = threading.Thread(target=self._run, name="rig keeper", daemon=True)

    @property
    def state(self) -> RigState:
        return self._state

    @property
    def waiting_bytes(self) -> int:
        """Received, and not yet looked at."""
        rig = self._rig
        return 0 if rig is None else rig.waiting_bytes

    def start(self) -> None:
        """The rig is opened as soon as it is there."""
        self._thread.start()

    def give(self, asked: Work) -> Running:
        """Begins a work, or asks first whether it may begin.

        Raises Busy, RigError where the rig is not there, and what speaks against a step before
        anything moves.
        """
        state = self._state
        if state.word in ("connecting", "gone", "ended"):
            raise RigError(f"the rig is not there: {state.why or 'it is being looked for'}")
        self.works.check_free()
        return self.works.give(asked, first_question(asked, self.rig_file, self._workshop))

    def cancel(self, work: Running) -> None:
        """Stops a work as Ctrl-C would; what was recorded is kept."""
        LOG.info("work_stopping", extra={"work": work.id})
        rig = self._rig
        if self.works.stopping(work) and rig is not None:
            rig.cancel()

    def close(self) -> None:
        """A work is stopped, the rig halted and quiet, and its ports let go."""
        self._closing.set()
        work = self.works.now
        if work is not None:
            self.cancel(work)
        self._thread.join(END_S)
        if self._thread.is_alive():
            LOG.error("the rig's thread has not ended")

    def _run(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._closing.is_set():
            before = self.connections
            try:
                with rig_session(self.rig_file, self._open_link) as rig:
                    self._keep(rig)
            except NeckformError as error:
                self._gone(str(error))
            except Exception as error:  # a daemon that lives for weeks says it, and goes on
                LOG.exception("the program failed")
                self._gone(f"the program itself failed: {type(error).__name__}: {error}")
            except KeyboardInterrupt:
                continue
            wait_s = FIRST_WAIT_S if self.connections > before else min(2 * wait_s, LONGEST_WAIT_S)
            self._closing.wait(wait_s)
        self._now("ended")

    def _keep(self, rig: Rig) -> None:
        self.connections += 1
        self._rig = rig
        self.watching = Watching(self.rig_file, self._hub)
        self._now("watching", hellos=rig.hellos)
        try:
            with rig.listening(self.watching.hear):
                while not self._closing.is_set():
                    with suppress(KeyboardInterrupt):  # of a work that ended just before
                        self._turn(rig)
                _still(rig)
        finally:
            self._rig = None
            self.works.give_up("the rig went away before it began")

    def _turn(self, rig: Rig) -> None:
        """Watches until there is a work, and does that."""
        rig.stream(self.rig_file.sensor.rate_hz)
        for heard in rig.pump():
            raise_reset(heard)
            if self._closing.is_set() or self.works.due:
                break
        rig.stop()
        work = self.works.take()
        if work is not None and work.cancelled:
            self.works.end(work, "stopped")
        elif work is not None:
            self._do(rig, work)

    def _do(self, rig: Rig, work: Running) -> None:
        self._now("working", hellos=rig.hellos)
        progress = HubProgress(work.id, self._hub, self.watching.begin_pass)
        operator = Operator(KeptRig(rig, self.rig_file), progress, self.works.ask)
        try:
            result = do(work.asked, self._workshop, operator)
            self.works.end(work, "done", to_json(result))
            self._tell_job(work.asked)
        except KeyboardInterrupt:
            _still(rig)
            self.works.end(work, "stopped")
        except Stopped as stopped:
            _still(rig)
            self.works.end(work, "stopped", error=stopped)
        except NeckformError as error:
            _still(rig)
            self.works.end(work, "failed", error=error)
        except Exception as error:
            LOG.exception("the program failed")
            _still(rig)
            told = RigError(f"the program itself failed: {type(error).__name__}: {error}")
            self.works.end(work, "failed", error=told)
        self._now("watching", hellos=rig.hellos)

    def _tell_job(self, asked: Work) -> None:
        """A scan was put into a job, by a step here or by a command."""
        job = job_of(asked)
        if job:
            self._hub.publish("job", {"job": job, "why": "scan"})

    def _gone(self, why: str) -> None:
        self.last_fault = (datetime.now(UTC), why)
        self._now("gone", why)

    def _now(
        self,
        word: Literal["watching", "working", "gone", "ended"],
        why: str = "",
        hellos: tuple[Hello, ...] = (),
    ) -> None:
        before = self._state
        if (before.word, before.why) == (word, why):
            return  # still gone, and for the same reason: said once
        self._state = RigState(word, datetime.now(UTC), why, hellos)
        self._hub.publish("rig", {"state": word, "why": why})
        ids = [hello.device_id for hello in hellos]
        level = logging.WARNING if word == "gone" else logging.INFO
        LOG.log(level, f"rig_{word}", extra={"why": why, "devices": ids})


def _still(rig: Rig) -> None:
    """Halted and quiet, as far as it still hears."""
    for command in (rig.halt, rig.stop):
        with suppress(NeckformError, KeyboardInterrupt):
            command()
