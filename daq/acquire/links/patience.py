"""How long to wait for a rig, and what to say when it has been too long."""

from __future__ import annotations

from daq.acquire.links.device_time import DeviceTime
from daq.acquire.links.looks_like import Said, looks_like
from daq.errors import RigError
from daq.wire.records import Batch

LEAST_NOISE = 200
"""Bytes that must hold a whole frame if they hold any: a frame is at most 97 long."""
MOST_NOISE = 2**20
KEPT_BYTES = 512
"""Of noise, to tell what it looks like."""
LONGEST_STEP_S = 1.0
STUCK_CLOCK = 10
"""How many times over its time a rig gets whose own clock does not show that it is up."""


class Patience:
    """The wait for one thing.

    A rig may send faster than real time or slower, and this process may be put to sleep: so
    silence is counted in waits that brought nothing, and listening in steps of a second at
    most. A rig that goes on sending good frames is given up on once its own clock AND the
    listening have passed their limits; or, should its clock stand still, after much listening.

    who: who is waited for. awaited: what for, as it stands in "the rig on ... did not ...".
    silence_s: how long the rig may send no good frame.
    device_s: how long the rig may take by its own clock while it sends samples.
    now_s: monotonic seconds.
    said: what the rig file says of the link, for what is no frame.
    """

    def __init__(
        self,
        who: str,
        awaited: str,
        silence_s: float,
        device_s: float,
        now_s: float,
        said: Said,
    ) -> None:
        self._said = said
        self._who = who
        self._awaited = awaited
        self._silence_s = silence_s
        self._device_s = device_s
        self._last_s = now_s
        self._listened_s = 0.0
        self._noisy_s = 0.0
        self._quiet_s = 0.0
        self._device = DeviceTime()
        self._bad_bytes = 0
        self._bad_start = b""

    def heard(self, data: bytes, batch: Batch, now_s: float) -> None:
        """The rig sent `data`, and `batch` came of it. Raises RigError on noise and babble."""
        step_s = min(now_s - self._last_s, LONGEST_STEP_S)
        self._last_s = now_s
        self._listened_s += step_s
        if not (len(batch.samples) or batch.events or batch.replies):
            self._heard_noise(data, step_s)
            return
        self._quiet_s = 0.0
        self._noisy_s = 0.0
        self._bad_bytes = 0
        self._bad_start = b""
        self._device.add(batch.samples)
        if self._too_long():
            raise RigError(
                f"{self._who} goes on sending samples but did not {self._awaited} in "
                f"{self._device.elapsed_s:.0f} s of its own time; switch it off and on, and try "
                "again"
            )

    def quiet(self, waited_s: float) -> None:
        """Nothing came for `waited_s`. Raises RigError once that is too much in all."""
        self._quiet_s += waited_s
        if self._quiet_s < self._silence_s:
            return
        if self._bad_bytes:
            raise self._noise()
        raise RigError(
            f"{self._who} did not {self._awaited}: nothing came for "
            f"{self._silence_s:.3g} s; check that it is switched on, the cable, the port and the "
            "baud rate"
        )

    @property
    def waited_s(self) -> float:
        """How long the rig has had so far, by whichever clock is kinder to it."""
        return max(self._quiet_s, min(self._listened_s, self._device.elapsed_s))

    def _too_long(self) -> bool:
        by_device = self._device.elapsed_s > self._device_s
        if by_device and self._listened_s > self._silence_s:
            return True
        return self._listened_s > STUCK_CLOCK * self._device_s

    def _heard_noise(self, data: bytes, step_s: float) -> None:
        self._noisy_s += step_s
        self._bad_bytes += len(data)
        if len(self._bad_start) < KEPT_BYTES:
            self._bad_start = (self._bad_start + data)[:KEPT_BYTES]
        long_enough = self._noisy_s > self._silence_s
        if self._bad_bytes > MOST_NOISE or (long_enough and self._bad_bytes > LEAST_NOISE):
            raise self._noise()

    def _noise(self) -> RigError:
        return RigError(
            f"{self._who} sent {self._bad_bytes:,} bytes, none of them a good frame, but "
            f"{looks_like(self._bad_start, self._said)}"
        )
