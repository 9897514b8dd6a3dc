"""What gets lost or hurt between rig and host."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from sim.faults import Faults


def happens(one_in: int, count: int, rng: Generator) -> NDArray[np.bool_]:
    """bool[count]: true for one in so many, never for 0."""
    return rng.random(count) * one_in < (1.0 if one_in else 0.0)


def spoil(lines: list[bytes], faults: Faults, rng: Generator) -> list[bytes]:
    """The lines as they leave a poor cable: some missing, some flipped, cut or run together.

    The last line keeps its line feed, so that what follows the lines is not hurt.
    """
    for index in np.flatnonzero(happens(faults.bad_frame_one_in, len(lines), rng)).tolist():
        lines[index] = b"" if rng.random() < 0.5 else _damaged(lines[index], rng)
        if index < len(lines) - 1 and lines[index] and rng.random() < 1.0 / 3.0:
            lines[index] = lines[index].rstrip(b"\n")
    return lines


def _damaged(line: bytes, rng: Generator) -> bytes:
    """One bit wrong, or cut short; the line feed stays."""
    at = int(rng.integers(1, len(line) - 1))
    if rng.random() < 0.5:
        return line[:at] + b"\n"
    return line[:at] + bytes([line[at] ^ (1 << int(rng.integers(0, 7)))]) + line[at + 1 :]
