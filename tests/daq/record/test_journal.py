from __future__ import annotations

import json
import os
import struct
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from zlib import crc32

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.acquire.links.inbox import Chunk
from daq.errors import FileError
from daq.record import syncer
from daq.record.journal import JournalWriter, is_live, read_journal
from daq.record.journal_format import JournalRecord, Kind, header, pack_record

RECORDS = st.lists(
    st.builds(
        JournalRecord,
        st.sampled_from(Kind),
        st.integers(-(2**63), 2**63 - 1),
        st.binary(max_size=40),
    ),
    max_size=6,
)
Write = Callable[[Path, list[JournalRecord]], None]


def test_what_is_written_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "a.journal"
    with JournalWriter(path, clock_ns=lambda: 77) as journal:
        journal.note({"note": "scan_begin", "label": "für später", "string": None})
        journal.rx([Chunk(5, b"S,1\r\n\0\xff")])
        journal.tx(6, b"")
    found = list(read_journal(path))
    assert json.loads(found[0].payload) == {
        "note": "scan_begin",
        "label": "für später",
        "string": None,
    }
    assert (found[0].kind, found[0].t_ns) == (Kind.NOTE, 77)
    assert found[1:] == [
        JournalRecord(Kind.RX, 5, b"S,1\r\n\0\xff"),
        JournalRecord(Kind.TX, 6, b""),
    ]


def test_layout_is_the_one_written_down(tmp_path: Path) -> None:
    path = tmp_path / "a.journal"
    with JournalWriter(path) as journal:
        journal.rx([Chunk(-2, b"abc")])
    body = b"\x01" + struct.pack("<q", -2) + b"\x03\0\0\0abc"
    expected = b"neckform-journal\x01\0\0\0" + body + struct.pack("<I", crc32(body))
    assert path.read_bytes() == expected


@settings(max_examples=40, deadline=None)
@given(RECORDS)
def test_cut_anywhere_it_yields_a_prefix(records: list[JournalRecord]) -> None:
    packed = [pack_record(r.kind, r.t_ns, r.payload) for r in records]
    whole = header(1) + b"".join(packed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.journal"
        for size in range(len(whole) + 1):
            path.write_bytes(whole[:size])
            found = list(read_journal(path))
            assert found == records[: len(found)]
            complete = len(header(1)) + sum(map(len, packed[: len(found)]))
            assert not found or complete <= size
            if len(found) < len(records):
                assert size < complete + len(packed[len(found)])


@settings(max_examples=60, deadline=None)
@given(RECORDS.filter(bool), st.data())
def test_damaged_anywhere_it_stops_before_the_damage(
    records: list[JournalRecord], data: st.DataObject
) -> None:
    packed = [pack_record(r.kind, r.t_ns, r.payload) for r in records]
    whole = bytearray(header(1) + b"".join(packed))
    at = data.draw(st.integers(len(header(1)), len(whole) - 1))
    whole[at] ^= data.draw(st.integers(1, 255))
    undamaged = 0
    while at >= len(header(1)) + sum(map(len, packed[: undamaged + 1])):
        undamaged += 1
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.journal"
        path.write_bytes(whole)
        assert list(read_journal(path)) == records[:undamaged]


def test_unknown_kind_with_a_right_checksum_ends_the_reading(tmp_path: Path) -> None:
    body = b"\x09" + bytes(12)
    path = tmp_path / "a.journal"
    path.write_bytes(header(1) + body + struct.pack("<I", crc32(body)))
    assert list(read_journal(path)) == []


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"name: garage-rail\n", "is not a neckform journal"),
        (b"neckform-journal\x03\0\0\0", "version 3, and this program reads up to version 2"),
    ],
)
def test_other_files_are_refused(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "a.journal"
    path.write_bytes(content)
    with pytest.raises(FileError, match=message):
        list(read_journal(path))


def test_missing_journal(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"none\.journal: the journal cannot be read: No such"):
        list(read_journal(tmp_path / "none.journal"))


def test_a_journal_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "a.journal"
    path.write_bytes(b"precious")
    with pytest.raises(FileError, match="already there"):
        JournalWriter(path)
    assert path.read_bytes() == b"precious"


def test_folder_that_is_missing(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be made: No such file"):
        JournalWriter(tmp_path / "none" / "a.journal")


def test_live_while_open_and_dead_after(tmp_path: Path) -> None:
    path = tmp_path / "a.journal"
    journal = JournalWriter(path)
    assert is_live(path)
    journal.close()
    journal.close()
    assert not is_live(path)


def test_closed_journal_writes_nothing_more(tmp_path: Path) -> None:
    journal = JournalWriter(tmp_path / "a.journal")
    journal.close()
    with pytest.raises(FileError, match="is closed"):
        journal.rx([Chunk(1, b"x")])


def test_bytes_are_synced_though_nothing_more_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced, sync = threading.Event(), os.fsync
    sizes: list[int] = []

    def watched(fd: int) -> None:
        sync(fd)
        if threading.current_thread().name == "journal-sync":
            sizes.append(os.fstat(fd).st_size)
            synced.set()

    with JournalWriter(tmp_path / "a.journal") as journal:
        monkeypatch.setattr(syncer.os, "fsync", watched)
        journal.rx([Chunk(1, b"x")])
        assert synced.wait(10)
    assert sizes[0] == len(header(1)) + len(pack_record(Kind.RX, 1, b"x"))


def test_a_sync_settles_the_writes_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    unsettled: list[bool] = []
    synced = threading.Event()

    def watched(fd: int) -> None:
        unsettled.append(watcher._written.is_set())
        synced.set()

    monkeypatch.setattr(syncer.os, "fsync", watched)
    watcher = syncer.Syncer(0, every_s=0.0)
    watcher.mark()
    assert synced.wait(10)
    watcher.close()
    assert unsettled == [False]


def test_note_is_synced_when_it_returns(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[int] = []
    with JournalWriter(tmp_path / "a.journal") as journal:
        monkeypatch.setattr(os, "fsync", lambda fd: sizes.append(os.fstat(fd).st_size))
        journal.note({"note": "scan_end"})
        size = journal.path.stat().st_size
    assert sizes[0] == size


def test_failed_sync_is_told_and_ends_the_writing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(fd: int) -> None:
        raise OSError(5, "Input/output error")

    path = tmp_path / "a.journal"
    journal = JournalWriter(path)
    journal.rx([Chunk(1, b"x")])
    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(FileError) as told:
        journal.note({"note": "scan_end"})
    assert str(told.value) == (
        f"{path}: writing the journal failed (Input/output error); the 2 records written before "
        f"are kept. Free space on that disk, then run: neckform recover {tmp_path}"
    )
    with pytest.raises(FileError, match="Input/output error"):
        journal.rx([Chunk(2, b"y")])
    journal.close()
    assert len(list(read_journal(path))) == 2


def test_failed_sync_in_the_background_is_told_at_the_next_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(fd: int) -> None:
        raise OSError(5, "Input/output error")

    journal = JournalWriter(tmp_path / "a.journal")
    monkeypatch.setattr(syncer.os, "fsync", broken)
    journal.rx([Chunk(1, b"x")])
    journal._syncer._thread.join(10)
    with pytest.raises(FileError, match="Input/output error"):
        journal.rx([Chunk(2, b"y")])
    journal.close()
