"""What a stream is doing wrong, named while it does it: pure, columns in, time handed in."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from daq.acquire.device_time import steps
from daq.acquire.looks_like import Said, looks_like
from daq.wire.records import Batch, SampleBlock

#: Named after so much silence; giving up comes later (`rig.SILENCE_S`).
NAMED_S = 0.8
#: One turn counts for no more: a process that slept has not been listening.
LONGEST_TURN_S = 0.25
#: Rates and shares are told of so much of the device's time, and of so many frames at least.
WINDOW_S = 0.4
LEAST_FRAMES = 40
#: The same clock, or the same number, for so much of what a second brings.
STUCK_S = 0.25
RATE_SHARE = 0.02
"""A rate off by more is named; `UNCLOCKED_SHARE` where only arrivals tell the time."""
UNCLOCKED_SHARE = 0.2
FLOOD = 1.5
DAMAGED_SHARE = 0.05
LEAST_DAMAGED = 4
MOST_EVENTS = 50
"""In one window, or with no sample in between."""
SEEN_BYTES = 512


@dataclass(frozen=True, slots=True)
class StreamFault:
    """Something that is wrong now.

    kind: one word for programs. text: a whole line, with the cure. ends_pass: no pass can be
    good with it.
    """

    kind: str
    text: str
    ends_pass: bool = False


class StreamWatch:
    """Follows what one controller streams; `turn` says what is wrong at this moment.

    A rig may send faster than real time or slower, so that rates, floods and a clock that
    stands still are judged by the device's own clock and numbers; only silence, and bytes that
    are no frames, are told by the host's clock.

    who: as it stands in messages. rate_hz: asked for. has_clock: the device's own is in its
    samples. said: what the rig file says, for bytes that are no frames.
    """

    def __init__(self, who: str, rate_hz: float, said: Said, *, has_clock: bool) -> None:
        self._who = who
        self._rate_hz = rate_hz
        self._off = RATE_SHARE if has_clock else UNCLOCKED_SHARE
        self._has_clock = has_clock
        self._said = said
        self._silent_after_s = max(NAMED_S, 3.0 / rate_hz)
        self._stuck_frames = max(3.0, STUCK_S * rate_hz)
        self._lasting: dict[str, StreamFault] = {}
        self._measured: tuple[StreamFault, ...] = ()
        self._turn_s: float | None = None
        self._without_s = 0.0
        self._without_bytes = b""
        self._without_events: Counter[str] = Counter()
        self._last: tuple[int, int] | None = None
        self._same_t = self._same_seq = 0
        self._window = _Window()

    def turn(self, data: bytes, batch: Batch, now_s: float) -> tuple[StreamFault, ...]:
        """What came since the last turn, or nothing; now_s in monotonic seconds."""
        passed_s = 0.0 if self._turn_s is None else min(now_s - self._turn_s, LONGEST_TURN_S)
        self._turn_s = now_s
        if batch.events:
            self._events(batch)
        self._window.bad += batch.bad_frames
        if len(batch.samples):
            self._samples(batch.samples)
        else:
            self._nothing(data, passed_s)
        return (*self._lasting.values(), *self._now(), *self._measured)

    def _nothing(self, data: bytes, passed_s: float) -> None:
        self._without_s += passed_s
        if len(self._without_bytes) < SEEN_BYTES:
            self._without_bytes += data[:SEEN_BYTES]

    def _samples(self, samples: SampleBlock) -> None:
        self._without_s, self._without_bytes = 0.0, b""
        if self._without_events:
            self._without_events.clear()
        seq, t_us = int(samples.seq[-1]), int(samples.t_us[-1])
        before = self._last or (int(samples.seq[0]), int(samples.t_us[0]))
        self._same_seq = _run(self._same_seq, before[0], int(samples.seq[0]), seq, len(samples))
        self._same_t = _run(self._same_t, before[1], int(samples.t_us[0]), t_us, len(samples))
        gone = steps(samples.seq, None if self._last is None else before[0])
        passed_us = steps(samples.t_us, None if self._last is None else before[1])
        self._last = seq, t_us
        if gone.size and gone.min() < 0:
            self._went_back(int(gone.min()), int(passed_us[gone.argmin()]))
            return
        self._window.add(gone, passed_us)
        if max(self._same_t, self._same_seq) >= self._stuck_frames:
            self._begin_window()
        elif self._same_t < 0.25 * self._stuck_frames and self._window.is_full(self._rate_hz):
            self._measured = tuple(self._judge(self._window))
            self._window = _Window()

    def _begin_window(self) -> None:
        """What was in it says nothing any more."""
        self._measured, self._window = (), _Window()

    def _went_back(self, by: int, passed_us: int) -> None:
        """To a number it had before: what was sent is sent again, or it started anew."""
        self._begin_window()
        period_us = 1e6 / self._rate_hz
        together = abs(passed_us - by * period_us) < 0.1 * abs(by) * period_us + 2 * period_us
        if together:
            self._lasts("repeats", "sends again what it had sent before", True)
        else:
            self._lasts(
                "reset", "started anew and lost its place: check its power and the cable", True
            )

    def _events(self, batch: Batch) -> None:
        self._window.events.update(event.word for event in batch.events)
        if not len(batch.samples):
            self._without_events.update(event.word for event in batch.events)
        for event in batch.events:
            if event.word == "reset":
                self._lasts("reset", "reset itself and lost its place: check its power", True)
            elif event.word == "stalled":
                self._lasts("stalled", "says that the carriage stalled: free its way", True)

    def _lasts(self, kind: str, text: str, ends_pass: bool) -> None:
        """Until the stream is begun anew."""
        self._lasting.setdefault(kind, StreamFault(kind, f"{self._who} {text}", ends_pass))

    def _now(self) -> list[StreamFault]:
        """What lasts only while it is so."""
        if self._same_t >= self._stuck_frames and self._same_seq >= self._stuck_frames:
            return [self._fault("repeats", "sends one and the same sample again and again", True)]
        if self._same_t >= self._stuck_frames and self._has_clock:
            return [self._fault("stuck", "sends samples while its clock stands still", True)]
        if self._same_seq >= self._stuck_frames:
            return [self._fault("repeats", "gives every sample the same number", True)]
        if sum(self._without_events.values()) > MOST_EVENTS:
            word = self._without_events.most_common(1)[0][0]
            return [self._fault("events", f"sends event after event ({word}) and no sample")]
        if self._without_s < self._silent_after_s - 1e-9:
            return []
        if not self._without_bytes:
            cure = "check that it is switched on, and the cable"
            return [StreamFault("silent", f"{self._who} has gone silent: {cure}")]
        seen = looks_like(self._without_bytes, self._said)
        return [StreamFault("noise", f"{self._who} sends bytes that are no frames: {seen}")]

    def _judge(self, window: _Window) -> list[StreamFault]:
        faults = []
        sent = window.numbers
        rate_hz = sent / max(window.passed_s, 1e-6)
        asked = f"{rate_hz:.1f} Hz where {self._rate_hz:g} Hz were asked for"
        if rate_hz > FLOOD * self._rate_hz:
            faults.append(self._fault("flood", f"floods: {asked}"))
        elif abs(rate_hz / self._rate_hz - 1.0) > self._off:
            faults.append(self._fault("rate", f"is off its rate: {asked}"))
        if window.repeated > DAMAGED_SHARE * sent:
            faults.append(self._fault("repeats", "sends samples twice", True))
        wrong = window.lost + window.bad
        if wrong >= LEAST_DAMAGED and wrong > DAMAGED_SHARE * (sent + window.bad):
            faults.append(
                StreamFault(
                    "damaged",
                    f"{wrong} of {sent + window.bad} frames of {self._who} were lost or damaged; "
                    "shorten the cable, lower the baud rate or the sample rate",
                )
            )
        events = window.events.total()
        if events > MOST_EVENTS and events > DAMAGED_SHARE * sent:
            word = window.events.most_common(1)[0][0]
            faults.append(self._fault("events", f"sends event after event ({word})"))
        return faults

    def _fault(self, kind: str, text: str, ends_pass: bool = False) -> StreamFault:
        cure = "switch it off and on, and look for its firmware's fault if that is no cure"
        return StreamFault(kind, f"{self._who} {text}; {cure}", ends_pass)


class Changes:
    """Which faults of which link began, and which are over; `present` holds those there are."""

    def __init__(self) -> None:
        self.present: dict[tuple[int, str], StreamFault] = {}

    def of(
        self, link: int, faults: tuple[StreamFault, ...]
    ) -> tuple[tuple[StreamFault, ...], tuple[StreamFault, ...]]:
        """(begun, over) since the last time this link was told of."""
        if not (faults or self.present):
            return (), ()
        now = {(link, fault.kind): fault for fault in faults}
        begun = tuple(fault for key, fault in now.items() if key not in self.present)
        gone = [key for key in self.present if key[0] == link and key not in now]
        over = tuple(self.present.pop(key) for key in gone)
        self.present.update({key: now[key] for key in now if key not in self.present})
        return begun, over


class _Window:
    """Sums over a short time. numbers: sample numbers gone through, those of lost ones too."""

    def __init__(self) -> None:
        self.numbers = self.lost = self.bad = self.repeated = 0
        self.passed_s = 0.0
        self.events: Counter[str] = Counter()

    def add(self, gone: NDArray[np.int64], passed_us: NDArray[np.int64]) -> None:
        """Steps of numbers and clock; none of the numbers' is backwards."""
        numbers = int(gone.sum())
        fresh = int(np.count_nonzero(gone))
        self.numbers += numbers
        self.lost += numbers - fresh
        self.repeated += gone.size - fresh
        self.passed_s += 1e-6 * float(passed_us.sum())

    def is_full(self, rate_hz: float) -> bool:
        """Whether it can be judged."""
        most = FLOOD * WINDOW_S * rate_hz
        seen = self.numbers + self.repeated
        return seen + self.bad >= LEAST_FRAMES and (self.passed_s >= WINDOW_S or seen > most)


def _run(so_far: int, before: int, first: int, last: int, count: int) -> int:
    """How many samples in a row have had one value, as far as the ends of a block tell."""
    if before == last:
        return so_far + count
    return count if first == last else 0
