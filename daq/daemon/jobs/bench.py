"""One job on the bench: what is asked of it, moved a field at a time, and what comes of that."""

from __future__ import annotations

import threading
from dataclasses import dataclass

from analysis.instrument import FloatArray, Instrument
from daq.daemon.hub import Hub
from daq.daemon.jobs.asked import Asked, changed
from daq.daemon.jobs.checked import Checked, checked, first_asked, fitted
from daq.daemon.jobs.kept import Kept
from daq.daemon.jobs.requests import Move, Show
from daq.errors import InputError, NeckformError
from daq.steps.trying import BenchNeck, Tried
from daq.workshop.job import Job
from daq.workshop.store import read_group


@dataclass(frozen=True, slots=True)
class Stands:
    """What is asked, and what comes of it. revision: counts what was moved. level_mm: [frets,
    strings], what levelling would take. said: what was dropped of what was asked, since somebody
    last moved something."""

    asked: Asked
    revision: int
    tried: Tried
    level_mm: FloatArray
    said: tuple[str, ...]


class Bench:
    """Of one job. Everything here waits for its lock: one solver has one user at a time."""

    def __init__(self, job: Job, kept: Kept, hub: Hub) -> None:
        self._job = job
        self._kept = kept
        self._hub = hub
        self._lock = threading.Lock()
        self._asked: Checked | None = None
        self._for: Instrument | None = None
        self._revision = 0
        self._said: tuple[str, ...] = ()
        self._tried: tuple[BenchNeck, Asked, Tried] | None = None
        self._levelled: tuple[BenchNeck, FloatArray] | None = None

    def now(self) -> tuple[Checked, int, Instrument]:
        """What is asked, its revision, and of what instrument. Raises InputError where the
        instrument's file cannot be read."""
        with self._lock:
            instrument = self._job.instrument().record
            return self._fits(instrument), self._revision, instrument

    def move(self, move: Move) -> Stands:
        """The fields moved, then the plan for all that is asked. Raises as the fields and the
        plan do; then nothing is changed."""
        with self._lock:
            neck = self._kept.neck(self._job)
            instrument = neck.instrument
            now = self._fits(instrument)
            check_show(move.show, len(instrument.strings), instrument.frets)
            asked = _moved(now, move, instrument)
            tried = self._try(neck, asked)
            if asked.asked != now.asked:
                self._said = ()
                self._take(asked, move.tab)
            level = self._level(neck, asked)
            return Stands(asked.asked, self._revision, tried, level, self._said)

    def as_asked(self) -> tuple[BenchNeck, Checked]:
        """The neck, to be looked at and not to be tried on, and what is asked of it."""
        with self._lock:
            neck = self._kept.neck(self._job)
            return neck, self._fits(neck.instrument)

    def _try(self, neck: BenchNeck, asked: Checked) -> Tried:
        """As it was tried last, where nothing has changed since."""
        if self._tried is not None:
            of, what, tried = self._tried
            if of is neck and what == asked.asked:
                return tried
        tried = neck.tried(asked.playing, asked.target)
        self._tried = neck, asked.asked, tried
        return tried

    def _level(self, neck: BenchNeck, asked: Checked) -> FloatArray:
        """Of a neck as it was read, whatever is asked: worked out once."""
        if self._levelled is None or self._levelled[0] is not neck:
            self._levelled = neck, neck.level_mm(asked.playing)
        return self._levelled[1]

    def _fits(self, instrument: Instrument) -> Checked:
        """As asked last, as far as the instrument allows; at first as kept last."""
        if self._asked is None:
            self._asked, self._for = _first(self._job, instrument), instrument
        elif instrument != self._for:
            asked, dropped = fitted(self._asked.asked, instrument)
            self._for = instrument
            if dropped:
                self._said = (*self._said, *dropped)
                self._take(asked, "")
        return self._asked

    def _take(self, asked: Checked, tab: str) -> None:
        self._asked = asked
        self._revision += 1
        told = {"job": self._job.name, "revision": self._revision, "tab": tab}
        # whoever was away asks for all of it when they come back: no need to keep each move
        self._hub.publish("asked", told, kept=False)


def check_show(show: Show, strings: int, frets: int) -> None:
    """Raises InputError for a string or a place that the instrument has not."""
    first, last = show.frets or (1, frets)
    if not 1 <= first < last <= frets:
        raise InputError(f"show: found frets {first} to {last}; allowed a run of 1 to {frets}")
    if not 1 <= show.string <= strings:
        raise InputError(f"show: found string {show.string}; allowed strings 1 to {strings}")
    if show.fretted is not None and not 0 <= show.fretted < frets:
        raise InputError(
            f"show: found a string held at fret {show.fretted}; allowed 0 (open) to {frets - 1}"
        )


def _moved(now: Checked, move: Move, instrument: Instrument) -> Checked:
    if move.all is None and not move.change:
        return now
    asked = now.asked if move.all is None else move.all
    for path, value in move.change.items():
        asked = changed(asked, path, value, instrument)
    return checked(asked, instrument)


def _first(job: Job, instrument: Instrument) -> Checked:
    """What the latest plan was asked, where it says and the instrument still allows it."""
    path = job.latest_plan()
    try:
        stored = None if path is None else read_group(path).get("target")
        if isinstance(stored, dict):
            return checked(stored, instrument)
    except NeckformError:
        pass  # a damaged plan is told where it is needed
    return first_asked(instrument)
