"""What the decoder hands out: samples as columns, the rare frames as plain records."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

UIntColumn = NDArray[np.uint32]
IntColumn = NDArray[np.int32]

ABSENT = -(2**31)
"""Marks an empty `y`, `raw` or `temp` cell: the one int32 that no frame can carry."""


@dataclass(frozen=True, slots=True, eq=False)
class SampleBlock:
    """Samples in the order they came, one array to a column, all of one length n.

    seq: uint32[n], the rig's running number, wraps.
    t_us: uint32[n], the device clock in microseconds, wraps.
    x, y: int32[n], carriage counts; y is ABSENT where the rig has no cross slide.
    raw: int32[n], sensor counts; ABSENT where the sensor had no valid reading.
    temp: int32[n], hundredths of a degree Celsius; ABSENT where the frame had none.
    """

    seq: UIntColumn
    t_us: UIntColumn
    x: IntColumn
    y: IntColumn
    raw: IntColumn
    temp: IntColumn

    def columns(self) -> tuple[UIntColumn | IntColumn, ...]:
        """The six columns in the order of the frame's fields."""
        return (self.seq, self.t_us, self.x, self.y, self.raw, self.temp)

    def __len__(self) -> int:
        return int(self.seq.size)

    def __getitem__(self, rows: slice) -> SampleBlock:
        """Some of the samples, as views into this block."""
        return SampleBlock(
            self.seq[rows],
            self.t_us[rows],
            self.x[rows],
            self.y[rows],
            self.raw[rows],
            self.temp[rows],
        )

    def chosen(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> SampleBlock:
        """Some of the samples, by their numbers or by a flag each, as a block of their own."""
        return SampleBlock(
            self.seq[rows],
            self.t_us[rows],
            self.x[rows],
            self.y[rows],
            self.raw[rows],
            self.temp[rows],
        )

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, SampleBlock):
            return NotImplemented
        pairs = zip(self.columns(), other.columns(), strict=True)
        return all(np.array_equal(mine, theirs) for mine, theirs in pairs)

    __hash__ = None  # type: ignore[assignment]  # arrays have no hash, so neither has a block

    @classmethod
    def empty(cls) -> SampleBlock:
        """A block of no samples."""
        unsigned, signed = np.empty(0, np.uint32), np.empty(0, np.int32)
        return cls(unsigned, unsigned, signed, signed, signed, signed)

    @classmethod
    def concatenate(cls, blocks: Iterable[SampleBlock]) -> SampleBlock:
        """The blocks end to end; an empty block where there are none."""
        filled = [block for block in blocks if len(block)]
        if not filled:
            return cls.empty()
        if len(filled) == 1:
            return filled[0]
        return cls(
            np.concatenate([block.seq for block in filled]),
            np.concatenate([block.t_us for block in filled]),
            np.concatenate([block.x for block in filled]),
            np.concatenate([block.y for block in filled]),
            np.concatenate([block.raw for block in filled]),
            np.concatenate([block.temp for block in filled]),
        )


@dataclass(frozen=True, slots=True)
class Event:
    """Something the rig said by itself. at_sample: samples decoded before it, in all."""

    t_us: int
    word: str
    text: str
    at_sample: int


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer to a command.

    kind: H (hello), A (accepted) or N (refused).
    fields: what follows the letter: (version, device id, rate), (command,) or
        (command, reason).
    at_sample: samples decoded before it, in all.
    """

    kind: str
    fields: tuple[str, ...]
    at_sample: int


@dataclass(frozen=True, slots=True)
class Batch:
    """All that one feed completed.

    bad_frames: lines that were not good frames; they are counted and dropped.
    bad_example: the first of them, cut short if long; empty where there was none.
    whole_after: int64[n], after how many bytes of the feed each sample was whole, in order: where
        the feed is several arrivals put together, that tells which of them brought it.
    """

    samples: SampleBlock
    events: tuple[Event, ...]
    replies: tuple[Reply, ...]
    bad_frames: int
    bad_example: bytes
    whole_after: NDArray[np.int64] = field(
        default_factory=lambda: np.empty(0, np.int64), compare=False
    )
