"""A short time of a stream: rate, floods, damage, repeats and events, by the device's own clock."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from daq.acquire.links.stream_fault import StreamFault, firmware_fault

#: Rates and shares are told of so much of the device's time, and of so many frames at least.
WINDOW_S = 0.4
LEAST_FRAMES = 40
FLOOD = 1.5
DAMAGED_SHARE = 0.05
LEAST_DAMAGED = 4
MOST_EVENTS = 50


class Window:
    """Sums. numbers: sample numbers gone through, those of lost ones too."""

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

    def faults(
        self, who: str, asked_hz: float, most_off: float, *, has_clock: bool
    ) -> Iterator[StreamFault]:
        """What is wrong in it. most_off: share by which a rate may be off. has_clock: what has
        none is asked for each sample."""
        rate_hz = self.numbers / max(self.passed_s, 1e-6)
        asked = f"{rate_hz:.1f} Hz where {asked_hz:g} Hz were asked for"
        if rate_hz > FLOOD * asked_hz:
            yield firmware_fault("flood", f"{who} floods: {asked}")
        elif abs(rate_hz / asked_hz - 1.0) > most_off and not has_clock:
            text = "it answers late, or this machine is busy; ask for fewer in the rig file"
            yield StreamFault("rate", f"{who} gives {asked}: {text}")
        elif abs(rate_hz / asked_hz - 1.0) > most_off:
            yield firmware_fault("rate", f"{who} is off its rate: {asked}")
        if self.repeated > DAMAGED_SHARE * self.numbers:
            yield firmware_fault("repeats", f"{who} sends samples twice", ends_pass=True)
        wrong, sent = self.lost + self.bad, self.numbers + self.bad
        if wrong >= LEAST_DAMAGED and wrong > DAMAGED_SHARE * sent:
            yield StreamFault(
                "damaged",
                f"{wrong} of {sent} frames of {who} were lost or damaged; shorten the cable, lower "
                "the baud rate or the sample rate",
            )
        events = self.events.total()
        if events > MOST_EVENTS and events > DAMAGED_SHARE * self.numbers:
            word = self.events.most_common(1)[0][0]
            yield firmware_fault("events", f"{who} sends event after event ({word})")
