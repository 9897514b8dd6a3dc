from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from daq.errors import FileError
from daq.record.journal_format import JournalRecord, Kind
from daq.record.link_so_far import count_lost
from daq.record.notes import PassBegin, PassEnd, ScanBegin, parse_note
from daq.wire.line import encode
from daq.wire.records import Event

from ...collected import collect

MakePass = Callable[..., PassBegin]
MakeNote = Callable[[object], JournalRecord]


def received(stream: bytes) -> JournalRecord:
    return JournalRecord(Kind.RX, 0, stream)


def test_samples_go_to_the_pass_open_when_they_came(records: list[JournalRecord]) -> None:
    scan, links = collect(records)
    first, second = scan.passes
    assert (first.good, first.why, second.good, second.why) == (True, (), False, ("gaps",))
    assert [(one.first, one.count) for (one,) in (first.spans, second.spans)] == [(5, 40), (48, 38)]
    assert len(links[0].samples) == 86
    seq = links[0].samples.seq[second.spans[0].rows]
    assert seq.tolist() == [*range(100, 110), *range(112, 140)]
    assert scan.end.end == "done"


def test_counts_of_bad_frames_and_gaps(records: list[JournalRecord]) -> None:
    scan, _ = collect(records)
    spans = [span for one in scan.passes for span in one.spans]
    assert [(one.bad_frames, one.lost, one.gaps) for one in spans] == [(1, 0, 0), (0, 2, 1)]
    assert scan.bad_frames == (1,)


def test_events_know_their_pass_and_place(records: list[JournalRecord]) -> None:
    scan, _ = collect([*records, received(encode.event(7, "halted"))])
    assert [(placed.event, placed.row) for placed in scan.events] == [
        (Event(99, "overrange", "knob", 45), 0),
        (Event(7, "halted", "", 86), -1),
    ]


def test_frame_split_at_the_end_of_a_pass_belongs_to_what_completes_it(
    begin: ScanBegin, pass_begin: MakePass, note: MakeNote
) -> None:
    frame = encode.sample(1, 2, 3, 4, 5)
    scan, links = collect(
        [
            note(begin),
            received(frame[:9]),
            note(pass_begin(0)),
            received(frame[9:] + frame + frame[:3]),
            note(PassEnd(0, True, ())),
            received(frame[3:]),
        ]
    )
    (span,) = scan.passes[0].spans
    assert (span.first, span.count, len(links[0].samples)) == (0, 2, 3)


def test_pass_and_scan_without_an_end_are_interrupted(
    begin: ScanBegin, pass_begin: MakePass, note: MakeNote
) -> None:
    scan, _ = collect([note(begin), note(pass_begin(0)), note(pass_begin(1))])
    assert [(p.begin.number, p.good, p.why) for p in scan.passes] == [
        (0, False, ("interrupted",)),
        (1, False, ("interrupted",)),
    ]
    assert scan.end.end == "interrupted"


def test_end_of_another_pass_ends_nothing(
    begin: ScanBegin, pass_begin: MakePass, note: MakeNote
) -> None:
    scan, _ = collect([note(begin), note(pass_begin(0)), note(PassEnd(3, True, ()))])
    assert [p.good for p in scan.passes] == [False]


def test_records_without_a_scan(records: list[JournalRecord]) -> None:
    with pytest.raises(FileError, match="no scan in it"):
        collect(records[1:])


@pytest.mark.parametrize(
    ("seq", "expected"),
    [
        ([], (0, 0)),
        ([7], (0, 0)),
        ([7, 8, 9], (0, 0)),
        ([7, 9, 13], (4, 2)),
        ([4294967294, 4294967295, 0, 2], (1, 1)),
        ([7, 7, 8], (0, 0)),
        ([0, 4294967295], (4294967294, 1)),
    ],
)
def test_lost_samples_by_number(seq: list[int], expected: tuple[int, int]) -> None:
    assert count_lost(np.array(seq, np.uint32)) == expected


def test_notes_come_back_as_they_went(
    records: list[JournalRecord], begin: ScanBegin, pass_begin: MakePass, note: MakeNote
) -> None:
    for given in (begin, pass_begin(3), PassEnd(3, False, ("gaps", "speed"))):
        assert parse_note(note(given).payload) == given
    lane_without_string = parse_note(note(pass_begin(3, string=float("nan"))).payload)
    assert isinstance(lane_without_string, PassBegin)
    assert np.isnan(lane_without_string.string)


def test_note_of_a_later_program_is_passed_over() -> None:
    assert parse_note(b'{"note": "weather", "sun": true}') is None


@pytest.mark.parametrize(
    "payload", [b"", b"\xff", b"[]", b"{}", b'{"note": "pass_end", "pass": 1}', b'"scan_end"']
)
def test_note_that_cannot_be_understood(payload: bytes) -> None:
    with pytest.raises(FileError, match="a note cannot be understood"):
        parse_note(payload)
