"""What a stream is doing wrong, named while it does it: pure, columns in, time handed in."""

from __future__ import annotations

from collections import Counter

from daq.acquire.links.device_time import steps
from daq.acquire.links.looks_like import Said, looks_like
from daq.acquire.links.stream_fault import StreamFault, firmware_fault
from daq.acquire.links.stream_window import MOST_EVENTS, Window
from daq.wire.records import Batch, SampleBlock

#: Named after so much silence; giving up comes later (`rig.SILENCE_S`).
NAMED_S = 0.8
#: One turn counts for no more: a process that slept has not been listening.
LONGEST_TURN_S = 0.25
#: The same clock, or the same number, for so much of what a second brings.
STUCK_S = 0.25
RATE_SHARE = 0.02
"""A rate off by more is named; `UNCLOCKED_SHARE` where only arrivals tell the time."""
UNCLOCKED_SHARE = 0.2
SEEN_BYTES = 512


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
        self._window = Window()

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
            found = self._window.faults(
                self._who, self._rate_hz, self._off, has_clock=self._has_clock
            )
            self._measured = tuple(found)
            self._window = Window()

    def _begin_window(self) -> None:
        """What was in it says nothing any more."""
        self._measured, self._window = (), Window()

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

    def _firmware(self, kind: str, text: str, ends_pass: bool = False) -> StreamFault:
        return firmware_fault(kind, f"{self._who} {text}", ends_pass=ends_pass)

    def _now(self) -> list[StreamFault]:
        """What lasts only while it is so."""
        if self._same_t >= self._stuck_frames and self._same_seq >= self._stuck_frames:
            return [
                self._firmware("repeats", "sends one and the same sample again and again", True)
            ]
        if self._same_t >= self._stuck_frames and self._has_clock:
            return [self._firmware("stuck", "sends samples while its clock stands still", True)]
        if self._same_seq >= self._stuck_frames:
            return [self._firmware("repeats", "gives every sample the same number", True)]
        if sum(self._without_events.values()) > MOST_EVENTS:
            word = self._without_events.most_common(1)[0][0]
            return [self._firmware("events", f"sends event after event ({word}) and no sample")]
        if self._without_s < self._silent_after_s - 1e-9:
            return []
        if not self._without_bytes:
            cure = "check that it is switched on, and the cable"
            return [StreamFault("silent", f"{self._who} has gone silent: {cure}")]
        seen = looks_like(self._without_bytes, self._said)
        return [StreamFault("noise", f"{self._who} sends bytes that are no frames: {seen}")]


def _run(so_far: int, before: int, first: int, last: int, count: int) -> int:
    """How many samples in a row have had one value, as far as the ends of a block tell."""
    if before == last:
        return so_far + count
    return count if first == last else 0
