"""To the disk: the journal against a plain file, HDF5 and two laboratory packages."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from importlib.util import find_spec
from itertools import count
from pathlib import Path

import h5py
import numpy as np

from daq.acquire.links.inbox import MOST_TAKEN_BYTES, Chunk
from daq.record.journal import JournalWriter

from .stream import columns, line_bytes
from .table import Part, rounded, times
from .timing import interleaved

#: Many for what is fast, few for what is not.
SAMPLES, H5_SAMPLES = 1_000_000, 200_000
#: What one read of a busy port brings: as much as a pseudo-terminal holds.
PIECE = 4095
BATCH = 1024
#: The fewest and the most of them that come between two turns of the recording.
TURNS = (1, MOST_TAKEN_BYTES // PIECE)
PLAIN = "plain appended file, one fsync at the end"

Way = Callable[[Path], object]


def measure() -> Iterator[Part]:
    """All of them in one table: the same events, on the same disk."""
    data = line_bytes(SAMPLES)
    pieces = [data[at : at + PIECE] for at in range(0, len(data), PIECE)]
    ways: dict[str, tuple[Way, int]] = {
        PLAIN: (lambda path: _plain(path, pieces), SAMPLES),
        **{
            f"neckform journal, reads a turn: {turn}": (_journal(pieces, turn), SAMPLES)
            for turn in TURNS
        },
        f"h5py, appended {BATCH} at a time, flushed": (_h5, H5_SAMPLES),
    }
    missing = []
    for name, samples, needs, module in (
        ("QCoDeS dataset", 4000, "qcodes", "peer_qcodes"),
        ("bluesky run engine, documents to JSON lines", 400, "bluesky", "peer_bluesky"),
    ):
        if find_spec(needs) is None:
            missing.append(needs)
            continue
        ways[name] = (_peer(module, samples), samples)
    with tempfile.TemporaryDirectory(dir=Path.cwd()) as folder:
        names = (Path(folder) / str(number) for number in count())
        took = interleaved(
            {name: lambda way=way: way(next(names)) for name, (way, _) in ways.items()}, 5
        )
    plain = took[PLAIN].wall_s / SAMPLES
    rows = []
    for name, (_, samples) in ways.items():
        wall = took[name].wall_s / samples
        cpu_us = 1e6 * took[name].cpu_s / samples
        rows.append([name, rounded(1 / wall), rounded(cpu_us), times(wall / plain)])
    says = (
        f"Samples of time, position and reading. The first two as the {len(data) / SAMPLES:.1f} "
        f"bytes they came in, {PIECE} at a time; the others as numbers. Everything is on the disk "
        "when the clock stops."
    )
    if missing:
        says += f" Left out, not installed: {', '.join(missing)} (`pip install -e '.[bench]'`)."
    yield Part(
        "Recording to disk", says, ("recorder", "samples/s", "CPU µs a sample", "of plain"), rows
    )


def _plain(path: Path, pieces: Sequence[bytes]) -> None:
    disk = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    for piece in pieces:
        os.write(disk, piece)
    os.fsync(disk)
    os.close(disk)
    path.unlink()


def _journal(pieces: Sequence[bytes], turn: int) -> Way:
    received = [Chunk(number, piece) for number, piece in enumerate(pieces)]
    turns = [received[at : at + turn] for at in range(0, len(received), turn)]

    def record(path: Path) -> None:
        with JournalWriter(path) as journal:
            for one in turns:
                journal.rx(one)
        path.unlink()

    return record


def _h5(path: Path) -> None:
    """As most write it: a growing dataset for each column."""
    _, t_us, x, _, raw = columns(H5_SAMPLES)
    with h5py.File(path, "w") as file:
        growing = [
            (file.create_dataset(name, (0,), "i4", maxshape=(None,), chunks=(BATCH * 16,)), column)
            for name, column in (("t_us", t_us), ("x", x), ("raw", raw))
        ]
        for at in range(0, H5_SAMPLES, BATCH):
            for dataset, column in growing:
                part = column[at : at + BATCH]
                dataset.resize(at + part.size, axis=0)
                dataset[at:] = part
            file.flush()
    with path.open("rb") as written:
        os.fsync(written.fileno())
    path.unlink()


def _peer(module: str, samples: int) -> Way:
    from importlib import import_module

    record: Callable[[Path, Sequence[np.ndarray]], None] = import_module(
        f"tests.bench.{module}"
    ).record
    _, t_us, x, _, raw = columns(samples)
    return lambda path: record(path, (t_us, x, raw))
