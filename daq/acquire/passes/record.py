"""A scan from the first command to the finished file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from daq.acquire.passes.hand import Ask
from daq.acquire.passes.lanes import PassPlan
from daq.acquire.passes.progress import ProgressSink
from daq.acquire.passes.scan import run_passes
from daq.acquire.passes.space import DiskWatch, check_space
from daq.acquire.rig.rig import Rig
from daq.errors import FileError, NeckformError, RigError
from daq.files.rig import RigFile
from daq.record.journal import JournalWriter, WriteFailed, read_journal
from daq.record.journal_format import Kind
from daq.record.notes import Dialects, Links, PassBegin, ScanBegin, parse_note
from daq.record.recover import seal_journal


def record_scan(
    rig: Rig,
    rig_file: RigFile,
    begin: ScanBegin,
    passes: Sequence[PassPlan],
    out_path: Path,
    progress: ProgressSink,
    ask: Ask,
) -> Path:
    """Runs every pass and writes the scan file; returns its path.

    Everything goes to a journal beside it first (the same name, .journal), which is deleted
    once the scan file is there and reads back. Whatever goes wrong once a pass has begun leaves
    the journal where it is, and the error says so; Ctrl-C leaves it too.

    Raises FileError where the file is already there or would not fit on the disk, InputError
    and RigError as the rig and its file give reason.
    """
    check_room(rig_file, passes, out_path)
    journal_path = _journal_path(out_path)
    with (
        _journal(journal_path, rig_file, begin) as journal,
        rig.keeping(journal),
        rig.listening(DiskWatch(journal_path, rig_file, passes).heard),
    ):
        rig.hello()
        run_passes(rig, rig_file, passes, journal, progress, ask)
    with _kept(journal_path):
        seal_journal(journal_path, out_path)
    return out_path


def check_room(rig_file: RigFile, passes: Sequence[PassPlan], out_path: Path) -> None:
    """Raises FileError where the scan could not be written for want of a name or of space."""
    _check_names(out_path, _journal_path(out_path))
    check_space(rig_file, passes, out_path.parent)


def _journal_path(out_path: Path) -> Path:
    return out_path.with_suffix(".journal")


def _check_names(out_path: Path, journal_path: Path) -> None:
    if out_path.exists():
        raise FileError(f"{out_path} is already there; a scan is never written over")
    if journal_path.exists():
        raise FileError(
            f"{journal_path} is left from a scan that was cut short; run "
            f"`neckform recover {journal_path.parent}` first"
        )


@contextmanager
def _journal(path: Path, rig_file: RigFile, begin: ScanBegin) -> Iterator[JournalWriter]:
    """A new journal with its first notes; deleted where nothing was measured until it ends."""
    names = rig_file.link_names
    journal = JournalWriter(path, links=len(names))
    try:
        with journal, _kept(path):
            journal.note(begin.as_note())
            if len(names) > 1:
                journal.note(Links(names).as_note())
            spoken = rig_file.dialects
            if any(dialect.protocol != "line" for dialect in spoken):
                said = tuple((dialect.protocol, dialect.settings()) for dialect in spoken)
                journal.note(Dialects(said).as_note())
            yield journal
    except BaseException as error:
        if not _holds_a_pass(path):
            path.unlink()
            if isinstance(error, WriteFailed):
                raise FileError(
                    f"{path}: writing the journal failed ({error.reason}) before anything was "
                    "measured; free space on that disk and scan again"
                ) from error
        raise


def _holds_a_pass(journal_path: Path) -> bool:
    """Whether anything was measured: a journal without it is not worth recovering."""
    notes = (r.payload for r in read_journal(journal_path) if r.kind is Kind.NOTE)
    return any(isinstance(parse_note(note), PassBegin) for note in notes)


@contextmanager
def _kept(journal_path: Path) -> Iterator[None]:
    """Adds to an error what is kept and how to get at it, if anything is."""
    try:
        yield
    except NeckformError as error:
        if "neckform recover" in str(error) or not _holds_a_pass(journal_path):
            raise
        kind = FileError if isinstance(error, FileError) else RigError
        told = f"what was recorded before is kept in {journal_path}, and "
        raise kind(
            f"{error}; {'' if str(journal_path) in str(error) else told}"
            f"`neckform recover {journal_path.parent}` makes a scan of it"
        ) from error
