"""The binary decoder on literal bytes: whole, a byte at a time, and with rubbish after them."""

from __future__ import annotations

import binascii

import numpy as np
import pytest

from daq.wire.binary import encode
from daq.wire.binary.decode import BinaryDecoder
from daq.wire.records import ABSENT, Batch, Event, Reply, SampleBlock


def literal(text: str) -> bytes:
    return bytes.fromhex(text)


def closed(after_sync: bytes) -> bytes:
    """A frame around these bytes, by the page: sync, they, their check."""
    return b"\xd6\xb5" + after_sync + binascii.crc_hqx(after_sync, 0xFFFF).to_bytes(2, "little")


FRAMES = [
    # 78: text; 15 bytes of it: the line protocol's own body.
    closed(literal("78 12") + b"H,1,probe-3,100000"),
    closed(literal("78 03") + b"A,G"),
    # F0: seq, t, raw.
    closed(literal("F0 FEFFFFFF FAFFFFFF 0C000000")),
    # F0 with the least raw: no reading.
    closed(literal("F0 FFFFFFFF 5E000000 00000080")),
    closed(literal("78 0E") + b"E,95,overrange"),
    # B4: with a temperature, 21.50 degrees.
    closed(literal("B4 00000000 220A0000 FFFFFFFF 6608")),
    # C3: with x and y.
    closed(literal("C3 01000000 220A0000 2EFBFFFF 20030000 DFFFFFFF")),
    # E1: with x alone.
    closed(literal("E1 02000000 220A0000 2EFBFFFF FFFFFF7F")),
    # D2, A5, 96, 87: the rest of what there is.
    closed(literal("D2 03000000 220A0000 05000000 07000000")),
    closed(literal("A5 04000000 220A0000 05000000 06000000 0080")),
    closed(literal("96 05000000 220A0000 05000000 07000000 FF7F")),
    closed(literal("87 06000000 220A0000 05000000 01000080 07000000 0000")),
]
ROWS = [
    (4294967294, 4294967290, 0, ABSENT, 12, ABSENT),
    (4294967295, 94, 0, ABSENT, ABSENT, ABSENT),
    (0, 2594, 0, ABSENT, -1, 2150),
    (1, 2594, 800, -33, -1234, ABSENT),
    (2, 2594, 2147483647, ABSENT, -1234, ABSENT),
    (3, 2594, 0, 7, 5, ABSENT),
    (4, 2594, 6, ABSENT, 5, -32768),
    (5, 2594, 0, 7, 5, 32767),
    (6, 2594, -2147483647, 7, 5, 0),
]
EVENTS = (Event(95, "overrange", "", 2),)
REPLIES = (Reply("H", ("1", "probe-3", "100000"), 0), Reply("A", ("G",), 0))


def rows(block: SampleBlock) -> list[tuple[int, ...]]:
    return list(zip(*(column.tolist() for column in block.columns()), strict=True))


def collect(decoder: BinaryDecoder, pieces: list[bytes]) -> Batch:
    batches = [decoder.feed(piece) for piece in pieces]
    examples = [batch.bad_example for batch in batches if batch.bad_example]
    return Batch(
        SampleBlock.concatenate(batch.samples for batch in batches),
        tuple(event for batch in batches for event in batch.events),
        tuple(reply for batch in batches for reply in batch.replies),
        sum(batch.bad_frames for batch in batches),
        examples[0] if examples else b"",
    )


def cut(stream: bytes, size: int) -> list[bytes]:
    return [stream[at : at + size] for at in range(0, len(stream), size)]


@pytest.mark.parametrize("size", [1, 2, 7, 4096])
@pytest.mark.parametrize("after", [b"", b"\xd6\xb5\xf0\x01", b"\xd6\xb5\x78", b"\xd6"])
def test_every_kind_of_frame(size: int, after: bytes) -> None:
    found = collect(BinaryDecoder(), cut(b"".join(FRAMES) + after, size))
    assert rows(found.samples) == ROWS
    assert (found.events, found.replies) == (EVENTS, REPLIES)
    assert (found.bad_frames, found.bad_example) == (0, b"")


def test_a_sensors_frame_with_its_check_written_out() -> None:
    frame = literal("D6B5 F0 01000000 02000000 FBFFFFFF 4D23")
    assert len(frame) == 17
    assert rows(BinaryDecoder().feed(frame).samples) == [(1, 2, 0, ABSENT, -5, ABSENT)]


def test_a_text_frame_with_its_check_written_out() -> None:
    found = BinaryDecoder().feed(literal("D6B5 78 03 41 2C 58 9027"))
    assert found.replies == (Reply("A", ("X",), 0),)


GOOD = closed(literal("F0 01000000 02000000 FBFFFFFF"))
NO_FRAMES = [
    b"\x00",
    b"\xd6",
    b"\xb5",
    b"\xd6\xb5",
    b"\xd6\xb5\xd6\xb5\xd6",
    GOOD[:-1],
    GOOD[1:],
    GOOD[:4] + GOOD[5:],
    GOOD[:9] + b"\x00" + GOOD[9:],
    GOOD[:-2] + GOOD[:-3:-1],
    # A kind that there is not, and the kind of a frame with other columns.
    closed(b"\xf1" + GOOD[3:-2]),
    closed(b"\x00" + GOOD[3:-2]),
    closed(b"\xb4" + GOOD[3:-2]),
    # Positions that are none.
    closed(literal("E1 02000000 220A0000 2EFBFFFF 00000080")),
    closed(literal("D2 02000000 220A0000 2EFBFFFF 00000080")),
    # Texts: empty, too long, and no answer nor event of the line protocol.
    closed(b"\x78\x00"),
    closed(b"\x78\x5b" + b"E,1,arrived," + b"x" * 79),
    closed(b"\x78\x03A,Q"),
    closed(b"\x78\x01H"),
    closed(b"\x78\x0bS,1,2,3,4,5"),
    closed(b"\x78\x0eE,1,halted,\xe9aa"),
    closed(b"\x78\x04A,G"),
]


@pytest.mark.parametrize("bad", NO_FRAMES)
@pytest.mark.parametrize("size", [1, 1000])
def test_what_is_no_frame_is_one_bad_frame_and_hurts_no_other(bad: bytes, size: int) -> None:
    found = collect(BinaryDecoder(), cut(GOOD + bad + 6 * GOOD, size))
    assert rows(found.samples) == [(1, 2, 0, ABSENT, -5, ABSENT)] * 7
    assert (found.events, found.replies) == ((), ())
    assert found.bad_frames == (2 if len(bad) > 96 else 1)
    assert found.bad_example[:1] == bad[:1]


def test_longest_text_is_taken() -> None:
    found = BinaryDecoder().feed(closed(b"\x78\x5a" + b"E,1,arrived," + b"x" * 78))
    assert (len(found.events[0].text), found.bad_frames) == (78, 0)


@pytest.mark.parametrize("size", [1, 25, 42])
def test_what_a_frame_carries_is_never_searched_for_frames(size: int) -> None:
    outer = closed(b"\xc3" + 5 * GOOD[:4])
    assert len(outer) == 25
    found = collect(BinaryDecoder(), cut(outer + GOOD, size))
    assert (len(found.samples), found.bad_frames) == (2, 0)


def test_a_whole_frame_in_a_frame_that_is_spoilt_is_found() -> None:
    outer = bytearray(closed(b"\x87" + GOOD[:17] + bytes(5)))
    assert len(outer) == 27
    assert rows(BinaryDecoder().feed(bytes(outer)).samples) != rows(
        BinaryDecoder().feed(GOOD).samples
    )
    outer[-1] ^= 1
    found = BinaryDecoder().feed(bytes(outer) + GOOD)
    assert rows(found.samples) == rows(BinaryDecoder().feed(GOOD + GOOD).samples)
    assert found.whole_after.tolist() == [27, 44]
    # Before it, what looked like a frame; after it, the rest of that.
    assert found.bad_frames == 2


@pytest.mark.parametrize(("length", "bad"), [(1, 1), (96, 1), (97, 2), (96 * 50, 50), (4801, 51)])
@pytest.mark.parametrize("size", [1, 50, 10_000])
def test_noise_counts_a_frame_for_every_longest_frame_of_it(
    length: int, bad: int, size: int
) -> None:
    found = collect(BinaryDecoder(), cut(GOOD + bytes(length) + GOOD + bytes(9), size))
    assert (len(found.samples), found.bad_frames) == (2, bad + 1)


@pytest.mark.parametrize("size", [1, 9, 6000])
@pytest.mark.parametrize(
    ("first", "bad"), [(b"", 0), (GOOD[3:], 0), (bytes(95), 0), (bytes(96), 1), (GOOD[:9], 1)]
)
def test_the_end_of_a_frame_after_opening_is_thrown_away_uncounted(
    size: int, first: bytes, bad: int
) -> None:
    stream = first + GOOD + b"bad" + GOOD
    found = collect(BinaryDecoder(skip_first=True), cut(stream, size))
    assert (len(found.samples), found.bad_frames) == (2, bad + 1)


def test_empty_feed_is_an_empty_batch() -> None:
    found = BinaryDecoder().feed(b"")
    assert (len(found.samples), found.events, found.replies, found.bad_frames) == (0, (), (), 0)


def test_columns_have_the_stated_types() -> None:
    for block in (BinaryDecoder().feed(each).samples for each in [*FRAMES, b"x"]):
        kinds = [column.dtype.name for column in block.columns()]
        assert kinds == ["uint32", "uint32", "int32", "int32", "int32", "int32"]


def test_each_sample_says_after_which_byte_it_was_whole() -> None:
    stream = b"rest" + FRAMES[2] + b"bad" + FRAMES[5] + FRAMES[0] + FRAMES[6] + FRAMES[2][:9]
    ends = [21, 43, 43 + 24 + 25]
    for at in range(len(stream)):
        decoder = BinaryDecoder(skip_first=True)
        before, after = decoder.feed(stream[:at]), decoder.feed(stream[at:])
        found = [*before.whole_after.tolist(), *(at + n for n in after.whole_after.tolist())]
        assert found == ends
        assert all(1 <= n <= len(stream) - at for n in after.whole_after.tolist())


def test_the_encoder_makes_these_bytes() -> None:
    one = np.array([1])
    assert encode.samples(one, 2 * one, -5 * one).tobytes() == GOOD
    x, y = np.array([800]), np.array([-33])
    assert encode.samples(one, one * 2594, one * -1234, x, y).tobytes() == FRAMES[6]
    assert encode.samples(0 * one, one * 2594, -one, temp=one * 2150).tobytes() == FRAMES[5]
    none = np.array([encode.NO_READING])
    assert encode.samples(np.array([2**32 - 1]), one * 94, none).tobytes() == FRAMES[3]
    assert encode.text(b"E,95,overrange") == FRAMES[4]


@pytest.mark.parametrize("body", [b"", b"x" * 91, b"E,1,halted,\xe9"])
def test_no_text_frame_of_this(body: bytes) -> None:
    with pytest.raises(ValueError, match="1 to 90 ASCII bytes"):
        encode.text(body)
