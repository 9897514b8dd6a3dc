"""The binary decoder against a slow reading of the page, on streams nobody thought of."""

from __future__ import annotations

import binascii
import struct
from itertools import pairwise

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from daq.wire.binary.decode import BinaryDecoder
from daq.wire.records import ABSENT, SampleBlock

SYNC = b"\xd6\xb5"
Found = tuple[list[object], list[object], int]
KINDS = {0xF0: 0, 0xE1: 1, 0xD2: 2, 0xC3: 3, 0xB4: 4, 0xA5: 5, 0x96: 6, 0x87: 7}
WORDS = ("arrived", "homed", "halted", "endstop", "overrange", "stalled", "reset")


def closed(after_sync: bytes) -> bytes:
    return SYNC + after_sync + binascii.crc_hqx(after_sync, 0xFFFF).to_bytes(2, "little")


def sample(kind: int, cells: tuple[int, ...], temp: int) -> bytes:
    seq, t_us, raw, x, y = cells
    bits = KINDS[kind]
    packed = struct.pack("<BIIi", kind, seq, t_us, raw)
    packed += struct.pack("<i", x) * (bits & 1) + struct.pack("<i", y) * (bits >> 1 & 1)
    return closed(packed + struct.pack("<h", temp) * (bits >> 2))


def text(body: str) -> bytes:
    return closed(bytes([0x78, len(body)]) + body.encode("ascii"))


def length_at(stream: bytes, at: int) -> int:
    """Of what begins there and looks like a frame; 0 for nothing."""
    kind = stream[at + 2] if stream[at : at + 2] == SYNC and at + 2 < len(stream) else 0
    if kind in KINDS:
        bits = KINDS[kind]
        return 17 + 4 * (bits & 1) + 4 * (bits >> 1 & 1) + 2 * (bits >> 2)
    if kind == 0x78 and at + 3 < len(stream) and 1 <= stream[at + 3] <= 90:
        return 6 + stream[at + 3]
    return 0


def record(frame: bytes) -> tuple[object, ...] | None:
    checked = frame[2:-2]
    if binascii.crc_hqx(checked, 0xFFFF) != int.from_bytes(frame[-2:], "little"):
        return None
    if checked[0] == 0x78:
        return rare(checked[2:])
    bits = KINDS[checked[0]]
    names = ["x", "y", "temp"]
    there = [name for bit, name in enumerate(names) if bits >> bit & 1]
    pattern = "<IIi" + "".join("h" if name == "temp" else "i" for name in there)
    seq, t_us, raw, *more = struct.unpack(pattern, checked[1:])
    cells = {"x": 0, "y": ABSENT, "temp": ABSENT, **dict(zip(there, more, strict=True))}
    if any(cells[name] == ABSENT for name in there):
        return None
    return seq, t_us, cells["x"], cells["y"], raw, cells["temp"]


def rare(body: bytes) -> tuple[object, ...] | None:
    """Only what the streams here hold: accepted commands, and events without a text."""
    fields = body.split(b",")
    if len(fields) == 2 and fields[0] == b"A" and fields[1] in (b"G", b"X"):
        return "A", fields[1].decode()
    if len(fields) == 3 and fields[0] == b"E" and fields[1].isdigit():
        return ("E", int(fields[1]), fields[2].decode()) if fields[2].decode() in WORDS else None
    return None


def by_hand(stream: bytes) -> Found:
    """Samples, the rest, and how many bad frames, of a stream that is known to its end."""
    samples: list[object] = []
    others: list[object] = []
    at = bad = piece = 0
    while at < len(stream):
        length = length_at(stream, at)
        found = record(stream[at : at + length]) if length else None
        if found is not None:
            (others if isinstance(found[0], str) else samples).append(found)
            at, piece = at + length, 0
            continue
        if length or piece % 96 == 0:
            bad, piece = bad + 1, 0
        at, piece = at + 1, piece + 1
    return samples, others, bad


UNSIGNED, COUNTS = st.integers(0, 2**32 - 1), st.integers(-(2**31), 2**31 - 1)
SMALL = st.integers(-300, 300)
CELLS = st.tuples(UNSIGNED, UNSIGNED, COUNTS | SMALL, COUNTS | SMALL, COUNTS | SMALL)
SAMPLES = st.builds(sample, st.sampled_from(sorted(KINDS)), CELLS, st.integers(-(2**15), 2**15 - 1))
SENSORS = st.builds(sample, st.just(0xF0), CELLS, st.just(0))
TEXTS = st.one_of(
    st.sampled_from(["A,G", "A,X", "A,Q", "H", "S,1,2,3,4,5"]).map(text),
    st.builds(lambda t, word: text(f"E,{t},{word}"), UNSIGNED, st.sampled_from(WORDS)),
)
# A whole frame carried by another, which is itself whole or cut short.
NESTED = st.builds(
    lambda inner, length: closed(b"\x87" + inner + bytes(5))[:length],
    SENSORS,
    st.integers(20, 27),
)
RUBBISH = st.binary(max_size=120) | st.sampled_from(
    [SYNC, SYNC[:1], SYNC + b"\xf0", SYNC + b"\x78\x5a", SYNC + b"\x78", bytes(100)]
)
FRAMES = SAMPLES | SENSORS | TEXTS
# Longer than anything that may still wait at the end.
ENOUGH = bytes(100)


def pieces(stream: bytes, cuts: list[int]) -> list[bytes]:
    bounds = [0, *sorted(cut % (len(stream) + 1) for cut in cuts), len(stream)]
    return [stream[a:b] for a, b in pairwise(bounds)]


def rows(block: SampleBlock) -> list[object]:
    return list(zip(*(column.tolist() for column in block.columns()), strict=True))


def decode(parts: list[bytes]) -> Found:
    decoder = BinaryDecoder()
    samples: list[object] = []
    others: list[object] = []
    bad = 0
    for part in parts:
        batch = decoder.feed(part)
        samples += rows(batch.samples)
        mixed = [(e.at_sample, ("E", e.t_us, e.word)) for e in batch.events]
        mixed += [(r.at_sample, (r.kind, *r.fields)) for r in batch.replies]
        others += mixed
        bad += batch.bad_frames
        assert bool(batch.bad_example) == bool(batch.bad_frames)
        assert len(batch.whole_after) == len(batch.samples)
        assert all(1 <= n <= len(part) for n in batch.whole_after.tolist())
    return samples, others, bad


def told(found: Found) -> tuple[object, ...]:
    """Without where among the samples, and whether event or answer came first."""
    return found[0], sorted((entry[1] for entry in found[1]), key=repr), found[2]  # type: ignore[index]


def agrees(stream: bytes, cuts: list[int]) -> Found:
    found = decode(pieces(stream, cuts))
    samples, others, bad = by_hand(stream)
    assert told(found) == (samples, sorted(others, key=repr), bad)
    return found


@settings(deadline=None)
@given(st.lists(FRAMES, max_size=30), st.lists(st.integers(0, 10_000), max_size=30))
def test_frames_cut_anywhere_come_back(frames: list[bytes], cuts: list[int]) -> None:
    agrees(b"".join(frames) + ENOUGH, cuts)


@settings(deadline=None, max_examples=300)
@given(
    st.lists(FRAMES | NESTED | RUBBISH, max_size=20),
    st.lists(st.integers(0, 10_000), max_size=10),
    st.data(),
)
@example([SYNC + b"\x78\x5a", sample(0xF0, (1, 2, 3, 4, 5), 0), bytes(100)], [20], None)
def test_damage_and_rubbish_are_judged_as_by_hand(
    parts: list[bytes], cuts: list[int], data: st.DataObject | None
) -> None:
    stream = bytearray(b"".join(parts))
    for _ in range(data.draw(st.integers(0, 5)) if data and stream else 0):
        at = data.draw(st.integers(0, len(stream)))
        stream[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3) | RUBBISH)
    agrees(bytes(stream) + ENOUGH, cuts)


@settings(deadline=None, max_examples=300)
@given(
    st.lists(FRAMES | NESTED | RUBBISH, max_size=12),
    st.lists(st.integers(0, 10_000), max_size=20),
    st.booleans(),
)
def test_nothing_depends_on_the_cuts(parts: list[bytes], cuts: list[int], skip: bool) -> None:
    stream = b"".join(parts)
    whole = BinaryDecoder(skip_first=skip).feed(stream)
    decoder, at = BinaryDecoder(skip_first=skip), 0
    bad, known, events, replies, blocks = 0, [], (), (), []
    for part in pieces(stream, cuts):
        batch = decoder.feed(part)
        known += [at + n for n in batch.whole_after.tolist()]
        at += len(part)
        bad += batch.bad_frames
        events, replies = (*events, *batch.events), (*replies, *batch.replies)
        blocks.append(batch.samples)
    assert (events, replies, bad) == (whole.events, whole.replies, whole.bad_frames)
    assert SampleBlock.concatenate(blocks) == whole.samples
    assert known == whole.whole_after.tolist()


@settings(deadline=None, max_examples=60)
@given(SENSORS, SENSORS, SAMPLES, st.data())
def test_a_flipped_bit_costs_its_own_frame_and_no_other(
    before: bytes, after: bytes, frame: bytes, data: st.DataObject
) -> None:
    at, bit = data.draw(st.integers(0, len(frame) - 1)), data.draw(st.integers(0, 7))
    flipped = frame[:at] + bytes([frame[at] ^ 1 << bit]) + frame[at + 1 :]
    assume(SYNC not in flipped[2:] + after[:1])
    samples, others, bad = decode([before + flipped + after + ENOUGH])
    assert samples == by_hand(before)[0] + by_hand(after)[0]
    assert (others, bad) == ([], 1 + by_hand(ENOUGH)[2])
