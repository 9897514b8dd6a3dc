"""What a Modbus RTU device sent, in; records out."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from daq.wire.modbus.asked import EXCEPTION_BIT, EXCEPTION_BYTES, Asked
from daq.wire.modbus.frames import Answers
from daq.wire.records import ABSENT, Batch, Reply, SampleBlock

LONGEST_EXAMPLE = 16
REFUSAL = "exception"


class ModbusDecoder:
    """Every good answer is a sample, at the time of its arrival.

    An answer is found wherever it stands among other bytes: by unit, function, size and
    checksum. Bytes that belong to none are one bad frame however many they are, and one missing
    in the running number: an answer that was lost. Frames of another unit or function are such
    bytes. An exception is a sample without a reading, with a Reply that says which.

    skip_first: rubbish before the first answer is not counted.
    """

    def __init__(self, asked: Asked, *, skip_first: bool = False) -> None:
        self._asked = asked
        self._answers = Answers()
        self._head = bytes([asked.unit])
        self._sizes = {
            asked.function: asked.answer_bytes,
            asked.function | EXCEPTION_BIT: EXCEPTION_BYTES,
        }
        self._tail = b""
        self._in_rubbish = skip_first
        self._seq = 0

    def feed(self, data: bytes) -> Batch:
        """Everything that these bytes complete."""
        text = self._tail + data
        found = _Found()
        at = 0
        while at < len(text):
            size = self._candidate(text, at)
            if at + size > len(text):
                break
            answer = self._answers.of(text[at : at + size]) if size else None
            if answer is None:
                at = self._rubbish(text, at, found)
                continue
            at += size
            self._take(*answer, found, at - len(self._tail))
        self._tail = text[at:]
        return found.batch()

    def _candidate(self, text: bytes, at: int) -> int:
        """The size of the answer that may begin here, 0 where none does."""
        if text[at] != self._head[0]:
            return 0
        if at + 1 == len(text):
            return EXCEPTION_BYTES
        size = self._sizes.get(text[at + 1], 0)
        if size == self._asked.answer_bytes and at + 2 < len(text):
            return size if text[at + 2] == 2 * self._asked.count else 0
        return size

    def _rubbish(self, text: bytes, at: int, found: _Found) -> int:
        """Where to go on: at the next byte that may begin an answer."""
        following = text.find(self._head, at + 1)
        following = len(text) if following < 0 else following
        if not self._in_rubbish:
            self._in_rubbish = True
            self._seq += 1
            found.bad_frames += 1
            found.example = found.example or text[at : min(following, at + LONGEST_EXAMPLE)]
        return following

    def _take(
        self, registers: tuple[int, ...], exception: int, found: _Found, whole_after: int
    ) -> None:
        self._in_rubbish = False
        if exception:
            found.replies.append(Reply("N", (REFUSAL, str(exception)), self._seq))
        found.raw.append(ABSENT if exception else self._asked.raw(registers))
        found.seq.append(self._seq % 2**32)
        found.whole_after.append(whole_after)
        self._seq += 1


@dataclass(slots=True)
class _Found:
    """What one feed has brought so far."""

    raw: list[int] = field(default_factory=list)
    seq: list[int] = field(default_factory=list)
    whole_after: list[int] = field(default_factory=list)
    replies: list[Reply] = field(default_factory=list)
    bad_frames: int = 0
    example: bytes = b""

    def batch(self) -> Batch:
        none = np.zeros(len(self.raw), np.int32)
        seq = np.array(self.seq, np.uint32)
        raw = np.array(self.raw, np.int32)
        samples = SampleBlock(seq, seq * 0, none, none + ABSENT, raw, none + ABSENT)
        whole_after = np.array(self.whole_after, np.int64)
        return Batch(samples, (), tuple(self.replies), self.bad_frames, self.example, whole_after)
