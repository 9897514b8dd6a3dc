"""What creeps: the sensor's own drift, the room's temperature and what a degree does."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from sim.faults import Faults
from sim.instrument import FloatArray

AT_FIRST_C = 20.0
SWING_S = 1900.0
THERMOMETER_NOISE_C = 0.005


class Climate:
    """The room over device time: held, ramped when told to, and swinging about that."""

    def __init__(self, swing_c: float) -> None:
        self._swing_c = swing_c
        self._t_s = [0.0]
        self._celsius = [AT_FIRST_C]

    def change(self, now_s: float, celsius: float, over_s: float) -> None:
        """From now on a steady ramp to celsius; what was planned before is forgotten."""
        here = float(self._held(np.array([now_s]))[0])
        ramps = over_s > 0.0
        self._t_s = [now_s, now_s + over_s] if ramps else [now_s]
        self._celsius = [here, celsius] if ramps else [celsius]

    def settle(self) -> None:
        """Device time starts anew: the room is where it was going."""
        self._t_s, self._celsius = [0.0], self._celsius[-1:]

    def celsius(self, t_s: FloatArray) -> FloatArray:
        swing = self._swing_c * np.sin(2.0 * np.pi * t_s / SWING_S)
        return np.asarray(self._held(t_s) + swing, dtype=float)

    def _held(self, t_s: FloatArray) -> FloatArray:
        return np.interp(t_s, self._t_s, self._celsius)


def drift_mm(faults: Faults, t_s: FloatArray) -> FloatArray:
    """Zero at power-on; the wander is a few um when the drift is 6 um a minute."""
    wander = 0.33 * np.sin(2.0 * np.pi * t_s / 410.0) + 0.2 * np.sin(2.0 * np.pi * t_s / 150.0)
    steady = t_s / 60.0
    rate = 1e-3 * faults.drift_um_per_min
    return np.asarray(rate * (steady + faults.drift_wander * wander), dtype=float)


def thermal_mm(faults: Faults, celsius: FloatArray) -> FloatArray:
    return np.asarray(1e-3 * faults.temperature_um_per_c * (celsius - AT_FIRST_C), dtype=float)


def thermometer_counts(celsius: FloatArray, rng: Generator) -> NDArray[np.int64]:
    """Hundredths of a degree, as the sample frames carry them."""
    seen = celsius + rng.normal(0.0, THERMOMETER_NOISE_C, len(celsius))
    return np.rint(100.0 * seen).astype(np.int64)
