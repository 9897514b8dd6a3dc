from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from daq.errors import FileError
from daq.record.journal import JournalWriter, read_journal
from daq.record.journal_format import JournalRecord
from daq.record.raw import records_of
from daq.record.recover import recover, seal_journal
from daq.record.scanfile import build_scan

Write = Callable[[Path, list[JournalRecord]], None]


def test_journals_in_every_folder_become_scans(
    tmp_path: Path, records: list[JournalRecord], write_records: Write
) -> None:
    (tmp_path / "job").mkdir()
    journals = [tmp_path / "a.journal", tmp_path / "job" / "b.journal"]
    for journal, kept in zip(journals, (records, records[:9]), strict=True):
        write_records(journal, kept)
    whole, cut = recover(tmp_path)
    assert whole.scan is not None
    assert cut.scan is not None
    assert (whole.scan.path, whole.scan.end) == (tmp_path / "a.h5", "done")
    assert (cut.scan.path, cut.scan.end) == (tmp_path / "job" / "b.h5", "interrupted")
    assert list(records_of(whole.scan.path)) == records
    assert not any(journal.exists() for journal in journals)


def test_live_journal_is_left_alone(tmp_path: Path) -> None:
    with JournalWriter(tmp_path / "a.journal") as journal:
        (found,) = recover(tmp_path)
        assert (found.scan, found.why) == (None, "a running program is still writing it")
        assert journal.path.exists()


def test_one_that_cannot_be_turned_does_not_stop_the_others(
    tmp_path: Path, records: list[JournalRecord], write_records: Write
) -> None:
    (tmp_path / "a.journal").write_bytes(b"name: garage-rail")
    write_records(tmp_path / "b.journal", records[1:])
    write_records(tmp_path / "c.journal", [])
    write_records(tmp_path / "d.journal", records)
    found = recover(tmp_path)
    assert [one.scan is not None for one in found] == [False, False, False, True]
    assert "is not a neckform journal" in found[0].why
    assert found[1].why == (
        f"{tmp_path / 'b.h5'}: not built: there is no scan in it: the note that begins one is "
        f"missing; the journal is kept: {tmp_path / 'b.journal'}"
    )
    assert found[2].why == "nothing was recorded in it; it may be deleted"
    names = sorted(entry.name for entry in tmp_path.iterdir())
    assert names == ["a.journal", "b.journal", "c.journal", "d.h5"]


def test_sealing_cut_off_before_its_end_is_finished(
    tmp_path: Path, records: list[JournalRecord], write_records: Write
) -> None:
    write_records(tmp_path / "a.journal", records)
    build_scan(records, tmp_path / "a.h5")
    (tmp_path / ".a.h5.part").write_bytes(b"left by the one before")
    (found,) = recover(tmp_path)
    assert found.scan is not None
    assert not (tmp_path / "a.journal").exists()


def test_scan_of_another_journal_is_not_taken_for_this_one(
    tmp_path: Path, records: list[JournalRecord], write_records: Write
) -> None:
    journal = tmp_path / "a.journal"
    write_records(journal, records)
    build_scan(records[:-1], tmp_path / "a.h5")
    with pytest.raises(FileError, match="holds another scan; move it away; the journal is kept"):
        seal_journal(journal, tmp_path / "a.h5")
    assert list(read_journal(journal)) == records


def test_folder_that_is_missing(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such folder"):
        recover(tmp_path / "none")
