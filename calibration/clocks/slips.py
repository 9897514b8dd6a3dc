"""A clock that is a count of lines: where lines were lost it is behind, and arrivals show it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.passes import FloatArray

#: Arrivals are looked at in blocks so long, of so many at least: the quickest is hardly late.
BLOCK_S = 0.25
LEAST_ARRIVALS = 5
#: How fast the level that lateness is measured from follows it, a block: clocks walk slowly.
FOLLOWS = 0.2
#: What is over again by the host's clock before this was a host that was busy, and no slip.
LASTS_S = 1.5
#: The rate is had from the quickest of so many arrivals each.
CHUNK = 50
#: Neighbouring blocks this near to one another, in periods, are steady: where a host catches up
#: with what it was too busy for, lateness falls from one to the next.
STEADY = 0.3
#: More scatter than this, in periods, and a slip cannot be told from it.
MOST_SCATTER = 0.1
LONGER = (1, 2, 4, 8)


def without_slips(device_s: FloatArray, arrival_s: FloatArray) -> FloatArray:
    """The device times with every slip of the count put right: float[n].

    device_s: float[n], a whole number of periods apart, not decreasing. arrival_s: float[n].

    The least lateness of each block tells how many periods the count is behind there, or ahead
    where a line was counted twice. Which sample it began with is known to within those that came
    late by half a period and more. Where even the least scatters by so much that a period cannot
    be told (a fast sensor on a busy host) nothing is touched.
    """
    period_s = float(np.median(np.diff(device_s))) if device_s.size > 1 else 0.0
    # of lines that came together the last is the least late
    lasts = np.flatnonzero(np.diff(arrival_s, append=np.inf) > 0.0)
    if period_s <= 0.0 or lasts.size < LEAST_ARRIVALS:
        return device_s
    rate = _rate(device_s[lasts], arrival_s[lasts])
    if rate <= 0.0:
        return device_s
    late = (arrival_s - arrival_s[0] - rate * (device_s - device_s[0])) / (rate * period_s)
    blocks, least = _steady_blocks(device_s[lasts], late[lasts])
    if blocks.size < 2:
        return device_s
    behind, level = _behind(least)
    behind = _lasting(behind, arrival_s[lasts][blocks])
    cuts = np.append(0, lasts[blocks[1:] - 1] + 1)
    put_right = np.zeros(device_s.size, np.int64)
    for block in (1 + np.flatnonzero(np.diff(behind))).tolist():
        before, more = behind[block - 1], behind[block] - behind[block - 1]
        past = late - (level[block - 1] + before)
        rows = slice(cuts[block - 1], cuts[block]) if more > 0 else slice(cuts[block], None)
        put_right[rows] += _since_before(past[rows], more)
        put_right[cuts[block] :] += max(more, 0)
    return np.asarray(device_s + put_right * period_s)


def _rate(lasts_s: FloatArray, came_s: FloatArray) -> float:
    """Host seconds a device second: the median from the quickest of one chunk to that of the
    next. Slips, of seconds too, are in few of them."""
    cuts = np.arange(0, max(lasts_s.size - CHUNK + 1, 1), CHUNK)
    if cuts.size < 2:
        cuts = np.array([0, lasts_s.size - 1])
    rate = float(np.median(np.diff(came_s[cuts]) / np.diff(lasts_s[cuts])))
    least = np.minimum.reduceat(came_s - rate * lasts_s, cuts)
    return rate + float(np.median(np.diff(least) / np.diff(lasts_s[cuts])))


def _steady_blocks(lasts_s: FloatArray, late: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """(the first arrival of each steady block, its least lateness): the shortest blocks by which
    a period can be told; none where none can.

    lasts_s, late: float[m], device seconds and lateness in periods of each arrival's last sample.
    """
    apart_s = max(float(lasts_s[-1] - lasts_s[0]) / lasts_s.size, 1e-9)
    for longer in LONGER:
        size = longer * max(LEAST_ARRIVALS, round(BLOCK_S / apart_s))
        blocks = np.arange(0, max(lasts_s.size - size + 1, 1), size)
        least = np.minimum.reduceat(late, blocks)
        off = np.abs(np.diff(least))
        if off.size and float(np.median(off)) < MOST_SCATTER:
            near = off < STEADY
            steady = np.flatnonzero(np.append(near, False) | np.append(False, near))
            return blocks[steady], least[steady]
    return np.empty(0, np.intp), np.empty(0)


def _behind(least: FloatArray) -> tuple[list[int], list[float]]:
    """Of each block, the periods that the count is behind since the first one, and the lateness
    that stays without them."""
    level, whole = float(least[0]), 0
    behind, levels = [], []
    for each in least.tolist():
        whole = round(each - level)
        level += FOLLOWS * (each - whole - level)
        behind.append(whole)
        levels.append(level)
    return behind, levels


def _lasting(behind: list[int], came_s: FloatArray) -> list[int]:
    """Without what is soon back to what it was. came_s: when each block began to come."""
    lasting, now = [], behind[0]
    ends = np.searchsorted(came_s, came_s + LASTS_S)
    for block, each in enumerate(behind):
        if each != now and now not in behind[block + 1 : ends[block]]:
            now = each
        lasting.append(now)
    return lasting


def _since_before(past: FloatArray, more: int) -> NDArray[np.int64]:
    """By how many periods each sample has slipped of the `more` that show in the end: int[n].

    past: float[n], lateness past what it was before. Delays only add, so the count is behind by no
    more than the least lateness that is still to come, and ahead by no less than the least there
    was: several slips on the way, a lost line and a pause, are each put where they belong.
    """
    order = slice(None, None, -1 if more > 0 else 1)
    least = np.minimum.accumulate(past[order])[order]
    return np.asarray(np.clip(np.rint(least), min(more, 0), max(more, 0)), np.int64)
