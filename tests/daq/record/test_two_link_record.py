"""A scan over two links, from journal to scan file and back."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest
from nexusformat.nexus import nxload
from nexusformat.nexus.validate import validate_file

from daq.acquire.links.inbox import Chunk
from daq.errors import FileError
from daq.record.journal import JournalWriter, read_journal
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import Links, PassBegin, PassEnd, ScanBegin, ScanEnd
from daq.record.profiles import raw_passes
from daq.record.raw import records_of
from daq.record.recover import recover
from daq.record.scan import read_scan
from daq.record.scanfile import build_scan
from daq.wire.line import encode

from ...collected import collect

START_NS = 1_700_000_000_000_000_000
WRAP = 2**32
MakeNote = Callable[[object], JournalRecord]


def sensor_frame(seq: int) -> bytes:
    """At host time seq * 2.5 ms + 1 ms; its reading is the place in micrometres at 20 mm/s."""
    reading = round(1000 * 20.0 * (0.0025 * seq + 0.001))
    return encode.sample(seq, (2500 * seq + WRAP - 700_000) % WRAP, 0, None, reading)


def carriage_frame(seq: int) -> bytes:
    return encode.sample(7 + seq, 2500 * seq + 5, 10 * seq, -3, None, 2040)


def arrivals(frame: Callable[[int], bytes], first: int, link: int) -> list[JournalRecord]:
    """800 samples from here, in pieces that split frames, the last byte 0 to 8 ms late."""
    rng = np.random.default_rng([first, link])
    stream = [frame(seq) for seq in range(first, first + 800)]
    ends = np.cumsum([len(one) for one in stream])
    found, whole = [], b"".join(stream)
    latest = 0
    for at in range(0, len(whole), 70):
        last = first + int(np.searchsorted(ends, min(at + 70, len(whole))))
        sent_ns = 2_500_000 * last + (1_000_000 if link == 0 else 0)
        latest = max(latest, sent_ns + round(1e9 * min(rng.exponential(0.002), 0.008)))
        found.append(JournalRecord(Kind.RX, START_NS + latest, whole[at : at + 70], link))
    return found


@pytest.fixture
def two(
    begin: ScanBegin, pass_begin: Callable[..., PassBegin], note: MakeNote
) -> list[JournalRecord]:
    """Two passes; a frame of the carriage is damaged, three of the sensor's are lost."""
    found = [note(begin), note(Links(("probe", "axis")))]
    found.append(JournalRecord(Kind.TX, START_NS, encode.stream(400), 1))
    for number in (0, 1):
        found.append(note(pass_begin(number)))
        both = arrivals(sensor_frame, 900 * number, 0) + arrivals(carriage_frame, 900 * number, 1)
        found += sorted(both, key=lambda record: record.t_ns)
        if number:
            late = START_NS + 10**10
            found.append(JournalRecord(Kind.RX, late, b"S,bad*0000\n", 1))
            found.append(JournalRecord(Kind.RX, late, sensor_frame(1703), 0))
            found.append(JournalRecord(Kind.RX, late, encode.event(5, "arrived"), 1))
        found.append(note(PassEnd(number, True, ())))
    return [*found, note(ScanEnd("done", ""))]


@pytest.fixture
def two_path(tmp_path: Path, two: list[JournalRecord]) -> Path:
    path = tmp_path / "two.h5"
    build_scan(two, path)
    return path


def test_each_link_keeps_its_samples_and_losses(two: list[JournalRecord]) -> None:
    scan, links = collect(two)
    assert scan.link_names == ("probe", "axis")
    assert [len(link.samples) for link in links] == [1601, 1600]
    assert scan.bad_frames == (0, 1)
    sensor, carriage = scan.passes[1].spans
    assert (sensor.first, sensor.count, sensor.lost, sensor.bad_frames) == (800, 801, 3, 0)
    assert (carriage.first, carriage.count, carriage.lost, carriage.bad_frames) == (800, 800, 0, 1)
    assert [placed.link for placed in scan.events] == [1]


def test_every_sample_has_the_stamp_of_the_bytes_that_completed_it(
    two: list[JournalRecord],
) -> None:
    _, links = collect(two)
    for number, link in enumerate(links):
        _, one_by_one = collect([r for r in two if r.kind is not Kind.RX or r.link == number])
        sent = one_by_one[number].samples.seq
        np.testing.assert_array_equal(sent, link.samples.seq)
        late_ns = link.arrival_ns - START_NS - 2_500_000 * np.arange(len(link.samples))
        assert late_ns[:800].min() >= 0


def test_validator_finds_nothing_and_the_plot_is_over_the_carriages_place(two_path: Path) -> None:
    assert validate_file(two_path) == (0, 0)
    plot = nxload(two_path).get_default()
    np.testing.assert_allclose(plot.nxsignal.nxdata, plot.nxaxes[0].nxdata, atol=0.04)


def test_the_file_says_which_is_which(two_path: Path) -> None:
    with h5py.File(two_path) as file:
        entry = file["entry"]
        assert entry["samples"].attrs["link"] == "probe"
        assert entry["carriage_samples"].attrs["link"] == "axis"
        assert entry["scan/format_version"][()] == 2
        assert entry["counts/bad_frames"][()] == 0
        assert entry["counts/carriage_bad_frames"][()] == 1
        assert np.all(entry["samples/x"][()] == 0)
        assert np.all(np.diff(entry["samples/arrival_ns"][()]) >= 0)


def test_read_back_the_readings_have_places(two_path: Path) -> None:
    scan = read_scan(two_path)
    first, second = scan.passes
    assert len(first.samples) == pytest.approx(799, abs=2)
    assert (second.bad_frames, second.lost) == (1, 3)
    assert np.all(first.samples.y == -3)
    assert np.all(first.samples.temp == 2040)
    one, _ = raw_passes(scan, 0.005, 0.01, 0.001)
    assert scan.clocks is not None
    assert 0.0 < scan.clocks.u_s < 5e-4
    # two seconds tell little of a clock; and counts are 5 µm apart
    known_mm = 1e-3 * scan.clocks.travel_jitter_um(20.0)
    np.testing.assert_allclose(one.x_mm, one.z_mm, atol=0.005 + 4 * known_mm)
    (event,) = second.events
    assert (event.word, event.at_sample) == ("arrived", pytest.approx(800, abs=3))


def test_the_journal_of_two_links_says_so_and_replays(
    tmp_path: Path, two: list[JournalRecord], two_path: Path
) -> None:
    path = tmp_path / "scan.journal"
    times_ns = iter([record.t_ns for record in two if record.kind is Kind.NOTE])
    with JournalWriter(path, links=2, clock_ns=lambda: next(times_ns)) as journal:
        for record in two:
            if record.kind is Kind.NOTE:
                journal.note(json.loads(record.payload))
            elif record.kind is Kind.RX:
                journal.rx([Chunk(record.t_ns, record.payload, record.link)])
            else:
                journal.tx(record.t_ns, record.payload, record.link)
    assert path.read_bytes()[:20] == b"neckform-journal\x02\0\0\0"
    assert list(read_journal(path)) == two
    assert list(records_of(two_path)) == two
    (found,) = recover(tmp_path)
    assert found.scan is not None
    assert found.scan.passes == read_scan(two_path).passes


def test_a_scan_cut_off_before_the_clocks_are_known_is_read_without_places(
    tmp_path: Path, two: list[JournalRecord]
) -> None:
    path = tmp_path / "early.h5"
    build_scan(two[:20], path)
    scan = read_scan(path)
    assert (scan.end, len(scan.passes[0].samples), scan.clocks) == ("interrupted", 0, None)
    assert list(records_of(path)) == two[:20]


def test_arrivals_that_are_missing_are_damage(two_path: Path) -> None:
    with h5py.File(two_path, "a") as file:
        del file["entry/carriage_samples/arrival_ns"]
    with pytest.raises(FileError, match="the scan file is damaged"):
        read_scan(two_path)
