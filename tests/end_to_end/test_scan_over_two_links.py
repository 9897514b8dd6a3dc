"""The same scan over one link and over two, with arrivals 5 ms late: what the tops lose."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from daq.files.instrument import load_instrument
from daq.reading.neck import read_scan_neck
from daq.record.assemble import AssembledScan
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import Links, PassEnd, ScanEnd
from daq.record.raw import records_of
from daq.record.scan import Scan, read_scan
from daq.record.scanfile import build_scan
from daq.wire.line import encode
from daq.wire.records import ABSENT, SampleBlock

from ..collected import collect

WRAP = 2**32
START_NS = 1_700_000_000_000_000_000


def note(one: Any) -> JournalRecord:
    return JournalRecord(Kind.NOTE, START_NS, json.dumps(one.as_note()).encode())


def cell(count: int) -> int | None:
    return None if count == ABSENT else count


def arrivals(host_s: np.ndarray, frames: list[bytes], link: int, rng: Any) -> Iterator[Any]:
    """Three frames at a time, 5 ms late in the mean, in their order."""
    late = np.maximum.accumulate(host_s + rng.exponential(0.005, host_s.size))
    for first in range(0, len(frames), 3):
        group = slice(first, first + 3)
        stamp = START_NS + round(1e9 * float(late[group][-1]))
        yield JournalRecord(Kind.RX, stamp, b"".join(frames[group]), link)


def over_two_links(scan: AssembledScan, samples: SampleBlock, rng: Any) -> Iterator[JournalRecord]:
    """Each pass again: the readings by one clock, the counts by another, 0.9 ms later."""
    host_s = 1e-6 * np.cumsum(np.diff(samples.t_us, prepend=samples.t_us[:1]).astype(np.int64))
    yield note(scan.begin)
    yield note(Links(("probe", "axis")))
    for one in scan.passes:
        rows = one.spans[0].rows
        s, at, after = samples[rows], host_s[rows], host_s[rows] + 0.0009
        x, y = (np.rint(np.interp(after, at, column)).astype(int) for column in (s.x, s.y))
        ticks = [
            (np.rint(start + 1e6 * rate * when).astype(np.int64) % WRAP).tolist()
            for start, rate, when in ((7e8, 1 + 3e-5, at), (3.1e9, 1 - 2e-5, after))
        ]
        seq = s.seq.tolist()
        read = [
            encode.sample(n, t, 0, None, cell(raw))
            for n, t, raw in zip(seq, ticks[0], s.raw.tolist(), strict=True)
        ]
        counted = [
            encode.sample(n, t, *place, None)
            for n, t, *place in zip(seq, ticks[1], x.tolist(), y.tolist(), strict=True)
        ]
        yield note(one.begin)
        both = [*arrivals(at, read, 0, rng), *arrivals(after, counted, 1, rng)]
        yield from sorted(both, key=lambda record: record.t_ns)
        yield note(PassEnd(one.begin.number, one.good, one.why))
    yield note(ScanEnd("done", ""))


@pytest.fixture(scope="module")
def two(made: Any, tmp_path_factory: pytest.TempPathFactory) -> Scan:
    path = tmp_path_factory.mktemp("two") / "two.h5"
    whole, (link,) = collect(records_of(made.scan("001-strung")))
    build_scan(over_two_links(whole, link.samples, np.random.default_rng(3)), path)
    return read_scan(path)


def test_tops_over_two_links_are_those_over_one(made: Any, two: Scan) -> None:
    instrument = load_instrument(Path(made.instrument)).record
    one = read_scan(made.scan("001-strung"))
    tops = [read_scan_neck(scan, instrument, None).neck.top_mm for scan in (one, two)]
    lost_um = 1e3 * (tops[1] - tops[0])
    assert np.sqrt(np.nanmean(lost_um**2)) < 0.1
    assert np.isfinite(lost_um).mean() > 0.95


def test_what_the_clocks_leave_is_told_in_travel(two: Scan) -> None:
    assert two.clocks is not None
    assert 0.02 < two.clocks.travel_jitter_um(25.0) < 1.0
