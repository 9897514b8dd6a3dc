"""The decoder on literal bytes: whole, one byte at a time, and with trailing data."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from daq.wire.line import encode
from daq.wire.line.decode import LineDecoder
from daq.wire.records import ABSENT, Batch, Event, Reply, SampleBlock

FRAMED = Callable[[bytes], bytes]
BODIES = [
    b"H,1,rail-7,4000",
    b"A,G",
    b"S,4294967294,4294967290,-1,,12",
    b"S,4294967295,94,0,-33,,2150",
    b"E,95,overrange,down, then up",
    b"S,0,2594,2147483647,-2147483647,-2147483647,-32768",
    b"S,0001,00000000000000000000002594,-07,0,-0,32767",
    b"N,M,not homed, say O",
    b"E,4294967295,arrived",
]
ROWS = [
    (4294967294, 4294967290, -1, ABSENT, 12, ABSENT),
    (4294967295, 94, 0, -33, ABSENT, 2150),
    (0, 2594, 2147483647, -2147483647, -2147483647, -32768),
    (1, 2594, -7, 0, 0, 32767),
]
EVENTS = (Event(95, "overrange", "down, then up", 2), Event(4294967295, "arrived", "", 4))
REPLIES = (
    Reply("H", ("1", "rail-7", "4000"), 0),
    Reply("A", ("G",), 0),
    Reply("N", ("M", "not homed, say O"), 4),
)


def rows(block: SampleBlock) -> list[tuple[int, ...]]:
    return list(zip(*(column.tolist() for column in block.columns()), strict=True))


def collect(decoder: LineDecoder, pieces: list[bytes]) -> Batch:
    batches = [decoder.feed(piece) for piece in pieces]
    examples = [batch.bad_example for batch in batches if batch.bad_example]
    return Batch(
        SampleBlock.concatenate(batch.samples for batch in batches),
        tuple(event for batch in batches for event in batch.events),
        tuple(reply for batch in batches for reply in batch.replies),
        sum(batch.bad_frames for batch in batches),
        examples[0] if examples else b"",
    )


@pytest.mark.parametrize("size", [1, 2, 7, 4096])
@pytest.mark.parametrize("line_end", [b"\n", b"\r\n"])
def test_every_kind_of_frame(framed: FRAMED, size: int, line_end: bytes) -> None:
    stream = b"".join(framed(body)[:-1] + line_end for body in BODIES) + b"S,1,2"
    pieces = [stream[at : at + size] for at in range(0, len(stream), size)]
    found = collect(LineDecoder(), pieces)
    assert rows(found.samples) == ROWS
    assert found.events == EVENTS
    assert found.replies == REPLIES
    assert (found.bad_frames, found.bad_example) == (0, b"")


def test_literal_sample_with_its_check_written_out() -> None:
    found = LineDecoder().feed(b"S,1,2,3,,-5,2000*3182\n")
    assert rows(found.samples) == [(1, 2, 3, ABSENT, -5, 2000)]


BAD_BODIES = [
    b"S",
    b"S,",
    b"S,1,2,3,4",
    b"S,1,2,3,4,5,6,7",
    b"S,,2,3,4,5",
    b"S,1,,3,4,5",
    b"S,1,2,,4,5",
    b"S,1,2,3,4,5,",
    b"S,4294967296,2,3,4,5",
    b"S,1,4294967296,3,4,5",
    b"S,-1,2,3,4,5",
    b"S,-0,2,3,4,5",
    b"S,1,-0,3,4,5",
    b"S,1,-2,3,4,5",
    b"S,1,2,2147483648,4,5",
    b"S,1,2,-2147483648,4,5",
    b"S,1,2,3,-2147483648,5",
    b"S,1,2,3,4,-2147483648",
    b"S,1,2,3,4,5,32768",
    b"S,1,2,3,4,5,-32769",
    b"S,1,2,3,4,100000000000000000000000000000000005",
    b"S,18446744073709551617,2,3,4,5",
    b"S,1,2,+3,4,5",
    b"S,1,2,--3,4,5",
    b"S,1,2,3-,4,5",
    b"S,1,2,-,4,5",
    b"S,1,2,3,-,5",
    b"S,1,2,3, 4,5",
    b"S,1,2,3,4,5.0",
    b"S,1,2,3,4,0x5",
    b"S,1,2,3,4,5:",
    b"S,1,2,3,4,5/",
    b"S,1,2,3,4,\xb5",
    b"S,1,2,3,4,\xff5",
    b"S,1x00000005,2,3,4,5",
    b"S,1,2,3,4,-x00000005",
    b"S,1,2,3,4,0000-00000005",
    b"s,1,2,3,4,5",
    b"SS,1,2,3,4,5",
    b" S,1,2,3,4,5",
    b"S;1,2,3,4,5",
    b"Q,1",
    b",",
    b"E,1,exploded",
    b"E,1",
    b"E,,arrived",
    b"E,-1,arrived",
    b"E,4294967296,arrived",
    b"E,1,arrived ",
    b"E,1,halted,caf\xe9",
    b"A",
    b"A,",
    b"A,Q",
    b"A,G,G",
    b"N,G",
    b"N,,why",
    b"H",
    b"H,1,rail",
    b"H,1,,400",
    b"H,1,rail,fast",
    b"H,1,rail,400,more",
    b"E,1,arrived," + b"x" * 79,
    b"",
]


@pytest.mark.parametrize("body", BAD_BODIES)
def test_body_with_a_right_check_that_is_no_frame(framed: FRAMED, body: bytes) -> None:
    good = framed(b"S,1,2,3,4,5")
    found = LineDecoder().feed(good + framed(body) + good)
    assert rows(found.samples) == [(1, 2, 3, 4, 5, ABSENT)] * 2
    assert (found.events, found.replies) == ((), ())
    assert (found.bad_frames, found.bad_example) == (1, framed(body)[:-1])


def test_longest_body_is_taken(framed: FRAMED) -> None:
    found = LineDecoder().feed(framed(b"E,1,arrived," + b"x" * 78))
    assert (len(found.events[0].text), found.bad_frames) == (78, 0)


@pytest.mark.parametrize(
    "line",
    [
        b"\n",
        b"\r\n",
        b"*\n",
        b"S,1,2,3,,-5,2000\n",
        b"S,1,2,3,,-5,2000*3183\n",
        b"S,1,2,3,,-5,2000*318\n",
        b"S,1,2,3,,-5,2000*31820\n",
        b"S,1,2,3,,-5,2000*3182 \n",
        b"S,1,2,3,,-5,2000*3182\r\r\n",
        b"S,1,2,3,,-5,2000 3182\n",
        b"H,1,rail-7,4000*%04x\n",
        b"S,1,2,3,,-5,2000*3182S,1,2,3,,-5,2000*3182\n",
    ],
)
def test_line_that_is_no_frame(bitwise: Callable[[bytes], int], line: bytes) -> None:
    line = line.replace(b"%04x", b"%04x" % bitwise(b"H,1,rail-7,4000"))
    found = LineDecoder().feed(line)
    assert (len(found.samples), found.replies, found.bad_frames) == (0, (), 1)


def test_lower_case_check_is_refused(framed: FRAMED) -> None:
    upper = framed(b"S,1,2,3,,-5,20")
    assert upper != upper[:-6] + upper[-6:].lower()
    found = LineDecoder().feed(upper[:-6] + upper[-6:].lower())
    assert (len(found.samples), found.bad_frames) == (0, 1)


@pytest.mark.parametrize("size", [1, 1000, 100_000])
def test_endless_line_is_one_bad_frame_and_its_end_is_not_believed(
    framed: FRAMED, size: int
) -> None:
    good = framed(b"S,1,2,3,4,5")
    stream = good + b"\0" * 4090 + good + b"x" * 20_000 + good + good
    found = collect(LineDecoder(), [stream[at : at + size] for at in range(0, len(stream), size)])
    assert len(found.samples) == 2
    assert (found.bad_frames, found.bad_example) == (2, b"\0" * 120)


def test_unfinished_endless_line_is_counted_once_at_4097_bytes() -> None:
    decoder = LineDecoder()
    assert decoder.feed(b"x" * 4096).bad_frames == 0
    assert decoder.feed(b"x").bad_frames == 1
    assert decoder.feed(b"x" * 9000).bad_frames == 0


@pytest.mark.parametrize("size", [1, 9, 6000])
@pytest.mark.parametrize("first", [b"", b"2,3,4,5*ABCD", b"x" * 5000])
def test_first_line_after_opening_is_thrown_away_uncounted(
    framed: FRAMED, size: int, first: bytes
) -> None:
    good = framed(b"S,1,2,3,4,5")
    stream = first + b"\n" + good + b"bad\n" + good
    pieces = [stream[at : at + size] for at in range(0, len(stream), size)]
    found = collect(LineDecoder(skip_first=True), pieces)
    assert (len(found.samples), found.bad_frames, found.bad_example) == (2, 1, b"bad")


def test_empty_feed_is_an_empty_batch() -> None:
    found = LineDecoder().feed(b"")
    assert (len(found.samples), found.events, found.replies, found.bad_frames) == (0, (), (), 0)


def test_columns_have_the_stated_types(framed: FRAMED) -> None:
    for block in (LineDecoder().feed(framed(b"S,1,2,3,4,5")).samples, SampleBlock.empty()):
        kinds = [column.dtype.name for column in block.columns()]
        assert kinds == ["uint32", "uint32", "int32", "int32", "int32", "int32"]


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_each_sample_says_after_which_byte_it_was_whole(end: bytes) -> None:
    frames = [encode.sample(n, 2500 * n, n, None, n)[:-1] + end for n in range(4)]
    stream = b"rest" + end + frames[0] + b"bad" + end + b"".join(frames[1:]) + frames[0][:9]
    for cut in range(len(stream)):
        decoder = LineDecoder(skip_first=True)
        before, after = decoder.feed(stream[:cut]), decoder.feed(stream[cut:])
        at = [*before.whole_after.tolist(), *(cut + n for n in after.whole_after.tolist())]
        assert [stream[:n].split(end)[-2] for n in at] == [frame[: -len(end)] for frame in frames]
        assert all(1 <= n <= len(stream) - cut for n in after.whole_after.tolist())
