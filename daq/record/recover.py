"""From a journal to its scan file: after every scan, and after one that was cut off."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path

from daq.errors import FileError
from daq.record.journal import read_journal, try_lock
from daq.record.newfile import sync_folder
from daq.record.raw import records_of
from daq.record.scan import Scan, read_scan
from daq.record.scanfile import build_scan


@dataclass(frozen=True, slots=True)
class Recovered:
    """What became of one journal.

    scan: what was recovered; None where the journal was left as it was, and why says so.
    """

    journal: Path
    scan: Scan | None
    why: str


def recover(folder: Path) -> list[Recovered]:
    """Turn every journal under a folder into a scan file beside it.

    Journals that a running program still writes are left alone. One that cannot be turned is
    kept and reported; the others are done all the same. FileError: the folder is not there.
    """
    if not folder.is_dir():
        raise FileError(f"{folder}: there is no such folder")
    return [_recover_one(journal) for journal in sorted(folder.rglob("*.journal"))]


def seal_journal(journal: Path, scan_path: Path) -> Scan:
    """Build the scan file, read it back, and only then delete the journal.

    A scan file already there is taken if it holds this journal to the last byte: then an
    earlier sealing was cut off before its end. FileError: the scan file cannot be built or
    does not hold the journal; the journal is kept.
    """
    try:
        if not scan_path.exists():
            build_scan(read_journal(journal), scan_path)
        if not _holds(scan_path, journal):
            raise FileError(f"{scan_path}: is already there and holds another scan; move it away")
        scan = read_scan(scan_path)
        journal.unlink()
        sync_folder(journal.parent)
    except FileError as error:
        raise FileError(f"{error}; the journal is kept: {journal}") from error
    return scan


def _recover_one(journal: Path) -> Recovered:
    try:
        with _locked(journal) as is_mine:
            if not is_mine:
                return Recovered(journal, None, "a running program is still writing it")
            if next(read_journal(journal), None) is None:
                return Recovered(journal, None, "nothing was recorded in it; it may be deleted")
            return Recovered(journal, seal_journal(journal, journal.with_suffix(".h5")), "")
    except FileError as error:
        return Recovered(journal, None, str(error))
    except OSError as error:
        return Recovered(journal, None, f"{journal}: cannot be opened: {error.strerror}")


@contextmanager
def _locked(journal: Path) -> Iterator[bool]:
    """Hold the writer's own lock, so that two recoveries do not meet on one journal."""
    fd = os.open(journal, os.O_RDONLY)
    try:
        yield try_lock(fd)
    finally:
        os.close(fd)


def _holds(scan_path: Path, journal: Path) -> bool:
    pairs = zip_longest(records_of(scan_path), read_journal(journal))
    return all(mine == theirs for mine, theirs in pairs)
