"""Frames as a bad cable hands them on: flipped, cut, merged, drowned, of the wrong length."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

Random = np.random.Generator
FLOOD_BYTES = 300


def damaged(frames: Sequence[bytes], random: Random, share: float = 0.7) -> list[bytes]:
    """Each frame, and `share` of them damaged, in one of the ways below."""
    ways = random.integers(0, len(WAYS), len(frames))
    hit = random.random(len(frames)) < share
    return [
        WAYS[way](frame, random) if spoilt else frame
        for frame, way, spoilt in zip(frames, ways.tolist(), hit.tolist(), strict=True)
    ]


def _flipped(frame: bytes, random: Random) -> bytes:
    """One to eight bits."""
    found = bytearray(frame)
    for bit in random.integers(0, 8 * len(frame), random.integers(1, 9)).tolist():
        found[bit // 8] ^= 1 << bit % 8
    return bytes(found)


def _cut(frame: bytes, random: Random) -> bytes:
    """Some bytes are missing, at its beginning, in it or at its end."""
    start, end = _run(frame, random)
    return frame[:start] + frame[end:]


def _merged(frame: bytes, random: Random) -> bytes:
    """Its last byte or three are missing: it runs into the next one."""
    return frame[: -int(random.integers(1, 4))]


def _grown(frame: bytes, random: Random) -> bytes:
    """Some of its bytes come twice."""
    start, end = _run(frame, random)
    return frame[:end] + frame[start:]


def _mixed(frame: bytes, random: Random) -> bytes:
    """Foreign bytes in it."""
    start, _ = _run(frame, random)
    return frame[:start] + random.bytes(int(random.integers(1, 21))) + frame[start:]


def _spoilt(frame: bytes, random: Random) -> bytes:
    """Foreign bytes instead of its own."""
    start, end = _run(frame, random)
    return frame[:start] + random.bytes(end - start) + frame[end:]


def _swapped(frame: bytes, random: Random) -> bytes:
    """Two of its bytes in each other's place."""
    found = bytearray(frame)
    one, other = random.integers(0, len(frame), 2).tolist()
    found[one], found[other] = found[other], found[one]
    return bytes(found)


def _drowned(frame: bytes, random: Random) -> bytes:
    """Once in thirty a flood behind it; else another frame's beginning before it."""
    if random.random() < 1 / 30:
        return frame + random.bytes(FLOOD_BYTES)
    return frame[: int(random.integers(1, len(frame)))] + frame


def _run(frame: bytes, random: Random) -> tuple[int, int]:
    start, end = sorted(random.integers(0, len(frame) + 1, 2).tolist())
    return start, max(end, min(start + 1, len(frame)))


WAYS: tuple[Callable[[bytes, Random], bytes], ...] = (
    _flipped,
    _cut,
    _merged,
    _grown,
    _mixed,
    _spoilt,
    _swapped,
    _drowned,
)
