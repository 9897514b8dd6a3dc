"""A controller's samples as bytes: when the next are due, and what its cable makes of them."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator

from sim.faults import Faults
from sim.instrument import FloatArray
from sim.sampler import Sampler, Samples
from sim.voice import Voice


class SampleStream:
    """Off until it is started; then a sample every period_s, for as long as nobody stops it."""

    def __init__(self, sampler: Sampler, voice: Voice, faults: Faults, rng: Generator) -> None:
        self._sampler = sampler
        self._voice = voice
        self._faults = faults
        self._rng = rng
        self._start_s, self._period_s, self._sent = 0.0, 0.0, 0
        self._was_valid = True
        self._repeats = False
        self._again: Samples | None = None

    @property
    def on(self) -> bool:
        return self._period_s > 0.0

    @property
    def next_s(self) -> float:
        """When the next sample is due, device seconds; inf while it is off."""
        return self._start_s + self._sent * self._period_s if self.on else np.inf

    def start(self, now_s: float, period_s: float) -> None:
        """The first sample is due one period from now."""
        self._start_s, self._period_s, self._sent = now_s + period_s, period_s, 0

    def stop(self) -> None:
        self._period_s = 0.0

    def repeat(self, on: bool) -> None:
        """From the next sample on it is that one again and again."""
        self._repeats, self._again = on, None

    def send(self, max_bytes: int, last_s: float) -> tuple[bytes, float]:
        """The samples due up to last_s, at least one, about max_bytes of them at most; and when
        the last of them was taken."""
        # One more than are due by this division: the times themselves decide.
        due = min((last_s - self.next_s) / self._period_s + 2.0, self._at_most(max_bytes))
        numbers = np.arange(self._sent, self._sent + int(due), dtype=float)
        t_s = self._start_s + numbers * self._period_s
        t_s = t_s[: max(int(np.searchsorted(t_s, last_s, side="right")), 1)]
        self._sent += len(t_s)
        return self._spoken(self._repeated(self._sampler.take(t_s))), float(t_s[-1])

    def surplus(self, now_s: float, max_bytes: int) -> bytes:
        """About so many bytes of samples, all of this moment."""
        t_s: FloatArray = np.full(self._at_most(max_bytes), now_s)
        return self._spoken(self._sampler.take(t_s))

    def _at_most(self, max_bytes: int) -> int:
        return max(max_bytes // self._voice.bytes_a_sample, 1)

    def _repeated(self, samples: Samples) -> Samples:
        if self._repeats and self._again is None:
            self._again = samples
        return samples if self._again is None else self._again.repeated(0, len(samples))

    def _spoken(self, samples: Samples) -> bytes:
        """As bytes, with an event before the first sample of each run out of range."""
        before = np.concatenate([[self._was_valid], samples.valid[:-1]])
        self._was_valid = bool(samples.valid[-1])
        overrange_at = np.flatnonzero(before & ~samples.valid).tolist()
        return self._voice.samples(samples, overrange_at, self._faults, self._rng)
