"""Two devices on two ports: where the carriage of one was at each sample of the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from calibration.clocks.fit import ClockError, ClockFit
from calibration.clocks.host_times import host_times
from calibration.clocks.stamped import Stamped
from calibration.passes import FloatArray

#: Between carriage samples further apart than this, nobody knows where it was; but of one that
#: tells seldom, a single one may be missing: a pass runs evenly.
LONGEST_GAP_S = 0.1
LONGEST_GAP = 2.5
#: Two clocks whose rates differ by more than this are not both right.
RATES_APART = 0.01
#: A count of lines goes at a rate that a person has set: rounded in a manual, or by an oscillator.
RATES_APART_COUNTED = 0.1


@dataclass(frozen=True, slots=True)
class TwoClocks:
    """How the two clocks were laid over one another.

    sensor, carriage: the fits, one for each time the device started.
    u_s: standard uncertainty of the time of the sensor's samples on the carriage's clock, root
        mean square over the session. It is nearly alike over a pass: a shift of the whole, no
        blur. (What blur there is comes from clocks that tell whole microseconds.) Of a device
        without a clock it is each sample's own, and blurs.
    """

    sensor: tuple[ClockFit, ...]
    carriage: tuple[ClockFit, ...]
    u_s: float

    def travel_jitter_um(self, speed_mm_s: float) -> float:
        """What that uncertainty is worth along the rail, micrometres, at this speed."""
        return 1e3 * abs(speed_mm_s) * self.u_s


@dataclass(frozen=True, slots=True)
class Placed:
    """For each sensor sample, the carriage samples about it.

    row: int[n], the one before. share: float[n], how far on towards the next, 0 to 1.
    ok: bool[n], False where there are none about it.
    """

    row: NDArray[np.intp]
    share: FloatArray
    ok: NDArray[np.bool_]

    def at(self, column: NDArray[Any]) -> FloatArray:
        """A column of the carriage's, at the sensor's samples: float[n]."""
        low = column[self.row].astype(float)
        high = column[self.row + 1].astype(float)
        return np.asarray(low + self.share * (high - low))


def place_samples(sensor: Stamped, carriage: Stamped) -> tuple[Placed, TwoClocks]:
    """Lays the sensor's samples among the carriage's, both by their own clocks.

    Arrival times only tell how the clocks stand to the host's (lower hull, see `fit_clock`);
    within each device time is the device's. A constant error of the offset between the two is
    one with the sensor's latency: it shifts a pass by speed times error, to the other side on
    the way back, and `calibrate lag` measures it and takes it off.

    Raises ClockError where either link brought too little, or their rates cannot both be right.
    """
    if not (sensor.t_us.size and carriage.t_us.size):
        raise ClockError("no samples came on one of the links")
    # seconds since 1970 would cost the digits below a microsecond
    origin_ns = int(sensor.arrival_ns[0])
    sensor_s, sensor_u, sensor_fits = host_times(sensor, origin_ns)
    carriage_s, carriage_u, carriage_fits = host_times(carriage, origin_ns)
    _check_rates(sensor_fits, carriage_fits, counted=sensor.counted)
    # strictly by time: what a device started anew said twice must not turn the order
    order = np.flatnonzero(np.isfinite(carriage_s))
    order = order[np.argsort(carriage_s[order], kind="stable")]
    placed = _placed(sensor_s, carriage_s[order], order)
    host_u = np.hypot(sensor_u, np.interp(sensor_s, carriage_s[order], carriage_u[order]))
    on_carriage = host_u[placed.ok] / carriage_fits[-1].rate
    u_s = float(np.sqrt(np.mean(on_carriage**2))) if on_carriage.size else float("nan")
    u_s *= _few_blocks(sensor_fits[-1], carriage_fits[-1])
    return placed, TwoClocks(sensor_fits, carriage_fits, u_s)


def _few_blocks(one: ClockFit, other: ClockFit) -> float:
    """What makes twice u hold 95 % though the scatter is known from few blocks only.

    Student's factor over the normal one, at the effective degrees of freedom of the two together
    (Welch and Satterthwaite; JCGM 100, G.4.1).
    """
    parts = [fit.u_s**4 / fit.freedom for fit in (one, other)]
    freedom = (one.u_s**2 + other.u_s**2) ** 2 / max(sum(parts), 1e-300)
    return float(stdtrit(freedom, 0.975)) / 1.96


def _placed(sensor_s: FloatArray, carriage_s: FloatArray, order: NDArray[np.intp]) -> Placed:
    after = np.searchsorted(carriage_s, np.nan_to_num(sensor_s, nan=np.inf), side="right")
    before = np.clip(after - 1, 0, carriage_s.size - 2)
    gap_s = carriage_s[before + 1] - carriage_s[before]
    longest_s = max(LONGEST_GAP_S, LONGEST_GAP * float(np.median(np.diff(carriage_s))))
    ok = (after > 0) & (after < carriage_s.size) & (gap_s <= longest_s)
    # neighbours by time are neighbours by row, but where a device started anew
    ok &= order[before + 1] == order[before] + 1
    share = np.where(ok, (sensor_s - carriage_s[before]) / np.maximum(gap_s, 1e-9), 0.0)
    row = np.where(ok, order[before], 0)
    return Placed(row, np.asarray(share), np.asarray(ok))


def _check_rates(
    sensor: tuple[ClockFit, ...], carriage: tuple[ClockFit, ...], *, counted: bool
) -> None:
    one, other = sensor[-1], carriage[-1]
    apart = one.rate / other.rate - 1.0
    unsure = 3.0 * float(np.hypot(one.u_rate, other.u_rate))
    if abs(apart) <= (RATES_APART_COUNTED if counted else RATES_APART) + unsure:
        return
    if counted:
        raise ClockError(
            f"the sensor prints {other.rate / one.rate:.3g} times as many lines a second as "
            "sensor.rate_hz says: set it to what it does, or the sensor to that"
        )
    raise ClockError(
        f"the clocks of the two links go {abs(apart):.1%} apart: one of them does not count "
        "microseconds"
    )
