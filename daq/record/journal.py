"""The journal: what a scan writes while it runs, and what survives if it is killed."""

from __future__ import annotations

import fcntl
import json
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import accumulate
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self

from daq.errors import FileError
from daq.record.journal_format import (
    CHECK_SIZE,
    HEAD_SIZE,
    HEADER_SIZE,
    MAGIC,
    VERSION,
    JournalRecord,
    Kind,
    Received,
    header,
    pack_record,
    payload_size,
    unpack_record,
)
from daq.record.syncer import Syncer

SYNC_AFTER_S = 0.4
"""Leaves a disk 0.1 s for the sync itself, so that the half second below holds."""


class WriteFailed(FileError):
    """A journal could not be written on. reason: what the system says."""

    def __init__(self, path: Path, records: int, error: OSError) -> None:
        self.reason = error.strerror
        super().__init__(
            f"{path}: writing the journal failed ({error.strerror}); the {records} "
            "records written before are kept. Free space on that disk, then run: "
            f"neckform recover {path.parent}"
        )


class JournalWriter:
    """An append-only file of what came from the rig, what went to it, and notes.

    What may be lost: nothing that was synced, ever. A note is synced before `note` returns;
    bytes are synced at most 0.5 s after they were written (on a disk that syncs within 0.1 s).
    A killed process loses nothing at all that was written, for every record goes straight to
    the operating system; only a power cut or a crash of the machine reaches the half second.

    links: how many the rig has. The file is locked while open, so that recovery can see that it
    is alive. All methods may be called from any thread. FileError: the file is already there or
    cannot be made, or a write or a sync failed; after that nothing more is written and every
    call fails alike.
    """

    def __init__(
        self, path: Path, *, links: int = 1, clock_ns: Callable[[], int] = time.time_ns
    ) -> None:
        self.path = path
        self._clock_ns = clock_ns
        self._lock = threading.Lock()
        self._failure: FileError | None = None
        self._open = True
        self._records = 0
        self._fd = _create(path, header(links))
        self._syncer = Syncer(self._fd, SYNC_AFTER_S)

    def rx(self, received: Sequence[Received]) -> None:
        """Bytes from the rig, as they came, a record for each arrival and one write for all."""
        self._append([pack_record(Kind.RX, one.t_ns, one.data, one.link) for one in received])

    def tx(self, t_ns: int, data: bytes, link: int = 0) -> None:
        """Bytes that went to the rig."""
        self._append([pack_record(Kind.TX, t_ns, data, link)])

    def note(self, note: Mapping[str, object]) -> None:
        """What the program did, as one JSON object; on the disk when this returns."""
        text = json.dumps(note, ensure_ascii=False, allow_nan=False)
        # A label typed in a broken encoding holds what UTF-8 cannot: no reason to stop a scan.
        payload = text.encode(errors="replace")
        self._append([pack_record(Kind.NOTE, self._clock_ns(), payload)])
        self.sync()

    def sync(self) -> None:
        """Bring everything written so far to the disk."""
        with self._lock:
            self._refuse_after_failure()
            try:
                os.fsync(self._fd)
            except OSError as error:
                raise self._failed(error) from error

    def close(self) -> None:
        """Sync, unlock and close. A second call does nothing."""
        if not self._open:
            return
        self._open = False
        self._syncer.close()
        try:
            if self._failure is None:
                self.sync()
        finally:
            # The number of a closed file may be given to another one: never write to it again.
            self._failure = self._failure or FileError(f"{self.path}: the journal is closed")
            os.close(self._fd)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _append(self, records: Sequence[bytes]) -> None:
        with self._lock:
            self._refuse_after_failure()
            written, error = _write(self._fd, b"".join(records))
            self._records += sum(end <= written for end in accumulate(map(len, records)))
            if error is not None:
                raise self._failed(error) from error
            self._syncer.mark()

    def _refuse_after_failure(self) -> None:
        """A record behind a cut one could never be read back, so none is written."""
        if self._failure is not None:
            raise self._failure
        if self._syncer.error is not None:
            raise self._failed(self._syncer.error)

    def _failed(self, error: OSError) -> FileError:
        self._failure = WriteFailed(self.path, self._records, error)
        return self._failure


def read_journal(path: Path) -> Iterator[JournalRecord]:
    """The records in order, up to the first that is cut or damaged.

    FileError: the file is not there or cannot be read, is no journal, or is of a newer version.
    """
    try:
        with path.open("rb") as file:
            if _header_is_whole(file, path):
                yield from _records(file)
    except OSError as error:
        raise FileError(f"{path}: the journal cannot be read: {error.strerror}") from error


def is_live(path: Path) -> bool:
    """Whether a running program is still writing this journal."""
    with path.open("rb") as file:
        return not try_lock(file.fileno())


def try_lock(fd: int) -> bool:
    """Take the lock that a journal's writer holds; False where another has it."""
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _create(path: Path, begins: bytes) -> int:
    """The new file, locked, its header written and on the disk."""
    try:
        fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND, 0o644)
    except FileExistsError:
        raise FileError(f"{path}: is already there; a journal is never written over") from None
    except OSError as error:
        raise FileError(f"{path}: the journal cannot be made: {error.strerror}") from error
    try:
        # Waits: a look by `is_live` may hold the lock for a moment.
        fcntl.flock(fd, fcntl.LOCK_EX)
        _, refused = _write(fd, begins)
        if refused is not None:
            raise refused
        os.fsync(fd)
    except OSError as error:
        os.close(fd)
        raise FileError(f"{path}: the journal cannot be made: {error.strerror}") from error
    return fd


def _write(fd: int, data: bytes) -> tuple[int, OSError | None]:
    """How many bytes were written, and what refused the rest of them."""
    view, written = memoryview(data), 0
    try:
        while written < len(view):
            written += os.write(fd, view[written:])
    except OSError as error:
        return written, error
    return written, None


def _header_is_whole(file: BinaryIO, path: Path) -> bool:
    """False where the file was cut inside its header; then it holds nothing."""
    start = file.read(HEADER_SIZE)
    magic = start[: len(MAGIC)]
    if magic != MAGIC[: len(magic)]:
        raise FileError(f"{path}: is not a neckform journal")
    found = int.from_bytes(start[len(MAGIC) :], "little")
    if len(start) == HEADER_SIZE and not 1 <= found <= VERSION:
        raise FileError(
            f"{path}: is a journal of version {found}, and this program reads up to version "
            f"{VERSION}; use the program that wrote it, or a newer one"
        )
    return len(start) == HEADER_SIZE


def _records(file: BinaryIO) -> Iterator[JournalRecord]:
    size = os.fstat(file.fileno()).st_size
    while len(head := file.read(HEAD_SIZE)) == HEAD_SIZE:
        rest_size = payload_size(head) + CHECK_SIZE
        # A damaged length must not make this read gigabytes.
        if rest_size > size:
            return
        record = unpack_record(head, file.read(rest_size))
        if record is None:
            return
        yield record
