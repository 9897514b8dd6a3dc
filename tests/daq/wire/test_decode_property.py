"""The decoder against a second, slow reading of the protocol, on streams nobody thought of."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from hypothesis import example, given, settings
from hypothesis import strategies as st

from daq.wire.line import encode
from daq.wire.line.decode import LineDecoder
from daq.wire.records import ABSENT, SampleBlock

FRAMED = Callable[[bytes], bytes]
BY_HAND = Callable[[bytes], tuple[list[object], list[object], list[object], int]]
Found = tuple[list[object], list[object], list[object], int]

UNSIGNED = st.integers(0, 2**32 - 1)
COUNTS = st.integers(-(2**31) + 1, 2**31 - 1)
TEXT = st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=40)
SAMPLES = st.builds(
    encode.sample,
    UNSIGNED,
    UNSIGNED,
    COUNTS,
    st.none() | COUNTS,
    st.none() | COUNTS,
    st.none() | st.integers(-(2**15), 2**15 - 1),
)
TEXTLESS = st.one_of(
    SAMPLES,
    st.builds(encode.event, UNSIGNED, st.sampled_from(encode.EVENT_WORDS)),
    st.builds(encode.accept, st.sampled_from("HGXMOK")),
    st.builds(encode.hello_reply, st.just("rail-7"), st.integers(1, 100_000)),
)
WITH_TEXT = st.one_of(
    st.builds(encode.event, UNSIGNED, st.sampled_from(encode.EVENT_WORDS), TEXT),
    st.builds(encode.refuse, st.sampled_from("HGXMOKZ"), TEXT),
)
FRAMES = TEXTLESS | WITH_TEXT
CELLS = st.one_of(
    st.integers(-(2**33), 2**33).map(str),
    st.sampled_from(["", "-", "+1", "007", "-0", "1e3", " 1", "2147483648", "4294967295"]),
    st.integers(0, 10**30).map(str),
)
NEARLY = st.lists(CELLS, min_size=3, max_size=8).map(lambda c: ("S," + ",".join(c)).encode())


def pieces(stream: bytes, cuts: list[int]) -> list[bytes]:
    bounds = [0, *sorted(cut % (len(stream) + 1) for cut in cuts), len(stream)]
    return [stream[a:b] for a, b in pairwise(bounds)]


def rows(block: SampleBlock) -> list[object]:
    columns = [column.tolist() for column in block.columns()]
    return [
        tuple(None if cell == ABSENT else cell for cell in row)
        for row in zip(*columns, strict=True)
    ]


def decode(parts: list[bytes]) -> Found:
    decoder, found = LineDecoder(), ([], [], [], 0)
    samples, events, replies, bad = found
    for part in parts:
        batch = decoder.feed(part)
        samples += rows(batch.samples)
        events += [(event.t_us, event.word, event.text) for event in batch.events]
        replies += [(reply.kind, reply.fields) for reply in batch.replies]
        bad += batch.bad_frames
    return samples, events, replies, bad


@settings(deadline=None)
@given(st.lists(FRAMES, max_size=30), st.lists(st.integers(0, 10_000), max_size=30))
def test_any_frames_cut_anywhere_come_back(
    by_hand: BY_HAND, frames: list[bytes], cuts: list[int]
) -> None:
    stream = b"".join(frames)
    found = decode(pieces(stream, cuts))
    assert found == by_hand(stream)
    assert found[3] == 0
    assert sum(map(len, found[:3])) == len(frames)


@settings(deadline=None)
@given(st.lists(FRAMES | NEARLY, max_size=12), st.data())
def test_at_sample_does_not_depend_on_the_cuts(frames: list[bytes], data: st.DataObject) -> None:
    stream = b"".join(frames)
    cuts = data.draw(st.lists(st.integers(0, len(stream)), max_size=20))
    whole = LineDecoder().feed(stream)
    decoder = LineDecoder()
    parts = [decoder.feed(part) for part in pieces(stream, cuts)]
    assert tuple(event for part in parts for event in part.events) == whole.events
    assert tuple(reply for part in parts for reply in part.replies) == whole.replies
    assert SampleBlock.concatenate(part.samples for part in parts) == whole.samples


@settings(deadline=None)
@given(st.lists(NEARLY, max_size=30))
@example([b"S,1,2,3,4,5", b"S,1,2,3,4,100000000000000000000000000000005"])
def test_nearly_good_samples_are_judged_alike(
    framed: FRAMED, by_hand: BY_HAND, bodies: list[bytes]
) -> None:
    stream = b"".join(framed(body) for body in bodies)
    assert decode([stream]) == by_hand(stream)


@settings(deadline=None)
@given(
    st.lists(st.binary(max_size=80) | st.text("S,0123456789-*ABCDEF\r\n").map(str.encode)),
    st.lists(st.integers(0, 10_000), max_size=10),
)
def test_garbage_never_raises_and_is_only_believed_where_it_checks(
    by_hand: BY_HAND, parts: list[bytes], cuts: list[int]
) -> None:
    stream = b"".join(parts)
    assert decode(pieces(stream, cuts)) == by_hand(stream)


@settings(deadline=None)
@given(st.lists(FRAMES, min_size=1, max_size=10), st.data())
def test_damaged_streams_are_judged_alike(
    by_hand: BY_HAND, frames: list[bytes], data: st.DataObject
) -> None:
    stream = bytearray(b"".join(frames))
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(stream) - 1))
        stream[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
        if not stream:
            break
    assert decode([bytes(stream)]) == by_hand(bytes(stream))


def flips(frame: bytes) -> list[bytes]:
    """Every frame that differs from this one in one bit."""
    value = int.from_bytes(frame, "big")
    return [(value ^ 1 << bit).to_bytes(len(frame), "big") for bit in range(8 * len(frame))]


@settings(deadline=None)
@given(TEXTLESS)
def test_no_single_bit_flip_is_believed(frame: bytes) -> None:
    before, after = encode.sample(1, 2, 3, 4, 5), encode.sample(2, 3, 4, 5, 6)
    neighbours = [(1, 2, 3, 4, 5, None), (2, 3, 4, 5, 6, None)]
    for flipped in flips(frame):
        samples, events, replies, bad = decode([before + flipped + after])
        # A flip in the line feed takes the next line along: the merged line is one bad frame.
        assert samples == neighbours[: 1 if flipped[-1:] != b"\n" else 2]
        assert (events, replies) == ([], [])
        assert bad >= 1


@settings(deadline=None)
@given(WITH_TEXT)
def test_no_single_bit_flip_is_believed_in_a_frame_with_text(frame: bytes) -> None:
    # Without the flips that make or lose a line feed: two lines' worth of free text meets a
    # 16-bit check by chance once in 65,536 times, and nothing in the frame could tell.
    for flipped in flips(frame[:-1]):
        if b"\n" not in flipped:
            assert decode([flipped + b"\n"]) == ([], [], [], 1)
