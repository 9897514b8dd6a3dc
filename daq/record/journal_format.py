"""The journal as bytes: a header, then records that each carry their own checksum. No I/O.

    header  16 bytes `neckform-journal`, version u32
    record  kind u8, t_ns i64, length u32, payload, CRC-32 u32 over all before it

All numbers are little-endian. The version is 1, and 2 where a rig of two links is recorded: then
the upper four bits of `kind` are the number of the link that bytes came from or went to.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from enum import IntEnum
from typing import Protocol
from zlib import crc32

MAGIC = b"neckform-journal"
VERSION = 2
"""The newest that this program reads."""
MOST_LINKS = 2
HEADER_SIZE = len(MAGIC) + 4

_HEAD = struct.Struct("<BqI")
_CHECK = struct.Struct("<I")
HEAD_SIZE = _HEAD.size
CHECK_SIZE = _CHECK.size


class Kind(IntEnum):
    """What a record holds: bytes from the rig, bytes to the rig, or a note."""

    RX = 1
    TX = 2
    NOTE = 3


class Received(Protocol):
    """Bytes that came in one read of a link, and the host time when, nanoseconds since 1970."""

    @property
    def t_ns(self) -> int: ...
    @property
    def data(self) -> bytes: ...
    @property
    def link(self) -> int: ...


@dataclass(frozen=True, slots=True)
class JournalRecord:
    """One record. t_ns: host time, nanoseconds since 1970. A note's payload is UTF-8 JSON.

    link: 0, or 1 for bytes of the carriage's link where it has one of its own.
    """

    kind: Kind
    t_ns: int
    payload: bytes
    link: int = 0


def header(links: int) -> bytes:
    """How the journal of a rig with so many links begins. One link's is what it always was."""
    return MAGIC + struct.pack("<I", links)


def pack_record(kind: Kind, t_ns: int, payload: bytes, link: int = 0) -> bytes:
    """A record as it stands in the file."""
    head = _HEAD.pack(kind | link << 4, t_ns, len(payload))
    # joined at once: what is acquired fast is copied no more often than it must be
    return b"".join((head, payload, _CHECK.pack(crc32(payload, crc32(head)))))


def payload_size(head: bytes) -> int:
    """How long the payload is that this head (HEAD_SIZE bytes) announces."""
    size: int = _HEAD.unpack(head)[2]
    return size


def unpack_record(head: bytes, rest: bytes) -> JournalRecord | None:
    """The record of a head and what follows it, or None where it is cut or damaged."""
    payload, check = rest[:-CHECK_SIZE], rest[-CHECK_SIZE:]
    what, t_ns, size = _HEAD.unpack(head)
    if len(rest) != size + CHECK_SIZE or check != _CHECK.pack(crc32(payload, crc32(head))):
        return None
    link, kind = divmod(what, 16)
    if link >= MOST_LINKS or kind not in iter(Kind):
        return None
    return JournalRecord(Kind(kind), t_ns, payload, link)
