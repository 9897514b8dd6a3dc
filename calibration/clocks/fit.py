"""One device's clock against the host's, over a whole session, with its uncertainty.

Delays only add, so the truth lies under every arrival. A session is cut into blocks; the arrival
that came with the least delay in each (the lower hull's support there) carries all there is to
know. A line through them, let bend as far as they ask for, less the delay even the quickest had.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.clocks.clock import lower_hull_line
from calibration.clocks.wander import Wander, fit_wander
from calibration.passes import FloatArray

#: Blocks a session is cut into, at least, and the longest one.
LEAST_BLOCKS = 24
LONGEST_BLOCK_S = 30.0
#: Samples a block needs for its quickest one to be near the hull.
LEAST_IN_BLOCK = 10
LEAST_SAMPLES = LEAST_BLOCKS * LEAST_IN_BLOCK
#: A pause longer than this parts two stretches: no block reaches over it.
PAUSE_S = 2.0
#: A block whose quickest sample came this many times later than half the blocks' was held up
#: whole: of quick enough delays one in 150 would be.
HELD_UP = 7.2
#: Blocks that were held up hide behind one another; so often is enough.
ROUNDS = 5
#: No crystal's rate walks further than this over a session: more is a host that was busy.
MOST_WALK = 1e-5
NODES = 5
#: A normal standard deviation over its median deviation.
NORMAL = 1.4826
HULL_POINTS = 500


class ClockError(ValueError):
    """Arrivals from which no clock can be had."""


@dataclass(frozen=True, slots=True)
class ClockFit:
    """Host time of a device clock: a line from node to node, and straight on past the ends.

    node_s: float[k], device seconds, increasing. host_s: float[k], host seconds there.
    u_node_s: float[k], standard uncertainty of host_s, by so many degrees of freedom.
    rate: host seconds a device second, over the whole.
    delay_s: how late samples came in the middle; it does no harm, but tells of the link.
    """

    node_s: FloatArray
    host_s: FloatArray
    u_node_s: FloatArray
    freedom: int
    rate: float
    delay_s: float

    @property
    def offset_s(self) -> float:
        """Host time at device time 0, on the line through both ends."""
        return float(self.host_s[0] - self.rate * self.node_s[0])

    @property
    def u_s(self) -> float:
        """The standard uncertainty over the session, root mean square."""
        return float(np.sqrt(np.mean(self.u_node_s**2)))

    @property
    def u_rate(self) -> float:
        """The standard uncertainty of the rate, relative to it, by both ends."""
        ends = float(np.hypot(self.u_node_s[0], self.u_node_s[-1]))
        return ends / abs(float(self.host_s[-1] - self.host_s[0]))

    def host(self, device_s: FloatArray) -> FloatArray:
        """Host seconds at device seconds, same shape."""
        inside = np.interp(device_s, self.node_s, self.host_s)
        before = np.minimum(device_s - self.node_s[0], 0.0)
        after = np.maximum(device_s - self.node_s[-1], 0.0)
        return np.asarray(inside + self.rate * (before + after))

    def u_at(self, device_s: FloatArray) -> FloatArray:
        """Standard uncertainty of `host`, seconds, same shape."""
        return np.asarray(np.interp(device_s, self.node_s, self.u_node_s))


def fit_clock(
    device_s: FloatArray, arrival_s: FloatArray, most_walk: float = MOST_WALK
) -> ClockFit:
    """The clock behind these arrivals.

    device_s: float[n], unwrapped, not decreasing. arrival_s: float[n], on the host's clock.
    most_walk: how far its rate may walk over the session, as a share of it.

    A device clock whose rate wanders (warmth) is followed as far as the blocks ask for it, by
    the likeliest smoothness; see `fit_wander`. Of a block of n delays the least is distributed
    like an exponential one whose mean is as large as its scatter, wherever delays close to the
    least are as common as others a little longer: that mean is taken off. Where the least delay
    is hardly ever met (a host that polls every 16 ms and dawdles besides) some 0.05 to 0.2 ms of
    it stay. A delay that stays is one with the sensor's latency: `calibrate lag` takes it off.

    Raises ClockError for too few samples, or arrivals that do not follow the clock.
    """
    if device_s.size < LEAST_SAMPLES:
        raise ClockError(f"{device_s.size} samples; a clock needs at least {LEAST_SAMPLES}")
    # About their own origins: seconds since 1970 would cost nanoseconds.
    start_s, base_s = float(device_s[0]), float(arrival_s[0])
    t, a = device_s - start_s, arrival_s - base_s
    cuts, starts = _blocks(t)
    step = max(1, t.size // HULL_POINTS)
    offset, rate = lower_hull_line(t[::step], a[::step])
    for _ in range(2):
        rows, _ = _support(t, a - (offset + rate * t), cuts)
        offset, rate = lower_hull_line(t[rows], a[rows])
    if rate <= 0.0:
        raise ClockError("the arrivals do not follow the device's clock")
    nodes = _nodes(t, starts)
    if not nodes.size:
        raise ClockError(f"every sample stands alone, more than {PAUSE_S:g} s from the next")
    wander = _wander(t, a - rate * t, offset, cuts, nodes, most_walk * rate)
    return _clock_fit(wander, nodes, rate, t, a, start_s, base_s)


def fit_of_arrivals(arrival_s: FloatArray) -> ClockFit:
    """The clock of a device that has none, its samples timed by their arrival: float[n], n >= 1.

    Host time is its time. Every sample came late: the mean of that is one with the sensor's
    latency, the rest blurs where samples lie. How large it is nobody can tell from when they
    came; but asked evenly they would come evenly, so it is no larger than what their intervals
    scatter (median deviation, 0 where most are alike; of two delays each).
    """
    ends = arrival_s[[0, -1]]
    between = np.diff(arrival_s)
    off = np.median(np.abs(between - np.median(between))) if between.size else 0.0
    u_s = float(NORMAL * off / np.sqrt(2.0))
    return ClockFit(ends, ends, np.full(2, u_s), max(1, between.size), 1.0, 0.0)


def _wander(
    t: FloatArray, late: FloatArray, offset: float, cuts: NDArray[np.intp], nodes: FloatArray,
    most_walk: float,
) -> Wander:  # fmt: skip
    """Through the support of every block that was not held up whole, about the fit before it.

    A few blocks held up pull the fit up, which hides them: so it is done over and over. Of more
    samples the least delay is the less, and its scatter likewise.
    """
    under = np.full(t.size, offset)
    for _ in range(ROUNDS):
        rows, counts = _support(t, late - under, cuts)
        kept = _not_held_up((late - under)[rows])
        weight = counts[kept] / counts[kept].mean()
        wander = fit_wander(t[rows][kept], late[rows][kept], weight, most_walk)
        under = np.interp(t, nodes, wander.at(nodes))
    return wander


def _clock_fit(
    wander: Wander, nodes: FloatArray, rate: float, t: FloatArray, a: FloatArray,
    start_s: float, base_s: float,
) -> ClockFit:  # fmt: skip
    # the least of many delays is late by as much as it scatters
    host = rate * nodes + wander.at(nodes) - wander.scatter
    return ClockFit(
        node_s=nodes + start_s,
        host_s=host + base_s,
        u_node_s=wander.u_at(nodes),
        freedom=wander.freedom,
        rate=float((host[-1] - host[0]) / (nodes[-1] - nodes[0])),
        delay_s=float(np.median(a - np.interp(t, nodes, host))),
    )


def _blocks(t: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """(first row of every block, first row of every stretch)."""
    starts = np.concatenate([[0], 1 + np.flatnonzero(np.diff(t) > PAUSE_S)])
    ends = np.append(starts[1:], t.size)
    lasts = t[ends - 1] - t[starts]
    wanted = max(LEAST_BLOCKS, float(lasts.sum()) / LONGEST_BLOCK_S)
    parts = np.rint(wanted * lasts / max(float(lasts.sum()), 1e-9)).astype(int)
    parts = np.clip(parts, 1, np.maximum(1, (ends - starts) // LEAST_IN_BLOCK))
    cuts = [
        np.linspace(start, end, part, endpoint=False).astype(np.intp)
        for start, end, part in zip(starts, ends, parts, strict=True)
    ]
    return np.concatenate(cuts), starts


def _support(
    t: FloatArray, late: FloatArray, cuts: NDArray[np.intp]
) -> tuple[NDArray[np.intp], FloatArray]:
    """(row of the quickest sample of every block, samples in every block)."""
    least = np.minimum.reduceat(late, cuts)
    counts = np.diff(np.append(cuts, t.size))
    at_least = np.flatnonzero(late == np.repeat(least, counts))
    rows = at_least[np.searchsorted(at_least, cuts)]
    return rows, counts.astype(float)


def _not_held_up(late: FloatArray) -> NDArray[np.bool_]:
    """Which blocks to keep: a host that was busy for all of one says nothing in it."""
    above = late - late.min()
    kept: NDArray[np.bool_] = above <= HELD_UP * max(float(np.median(above)), 1e-9)
    return kept


def _nodes(t: FloatArray, starts: NDArray[np.intp]) -> FloatArray:
    ends = np.append(starts[1:], t.size) - 1
    each = [np.linspace(t[i], t[j], NODES) for i, j in zip(starts, ends, strict=True) if j > i]
    return np.concatenate([np.empty(0), *each])
