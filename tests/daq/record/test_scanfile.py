"""The scan file as others see it: NeXus, complete, whole or absent."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from nexusformat.nexus import nxload
from nexusformat.nexus.validate import validate_file

from daq.errors import FileError
from daq.record.journal_format import JournalRecord, Kind
from daq.record.notes import PassBegin, ScanBegin
from daq.record.raw import records_of
from daq.record.scan import read_scan
from daq.record.scanfile import build_scan

from ...collected import collect

MakeNote = Callable[[object], JournalRecord]


@pytest.fixture
def scan_path(tmp_path: Path, records: list[JournalRecord]) -> Path:
    path = tmp_path / "a.h5"
    build_scan(records, path)
    return path


def test_validator_finds_nothing(scan_path: Path) -> None:
    assert validate_file(scan_path) == (0, 0)


def test_default_plot_is_the_first_good_pass_in_millimetres(scan_path: Path) -> None:
    plot = nxload(scan_path).get_default()
    assert plot.nxname == "profile"
    (x,) = plot.nxaxes
    seq = np.arange(40)
    height = np.where(seq % 10 == 9, np.nan, 7 * seq * 0.001)
    np.testing.assert_allclose(x.nxdata, 5 * seq * 0.005)
    np.testing.assert_allclose(plot.nxsignal.nxdata, height)
    assert (x.attrs["units"], plot.nxsignal.attrs["units"]) == ("mm", "mm")


@pytest.mark.parametrize("rig_text", ["", "carriage: [", "carriage: {mm_per_count: wide}"])
def test_rig_text_without_scales_is_drawn_in_counts(
    tmp_path: Path, begin: ScanBegin, note: MakeNote, records: list[JournalRecord], rig_text: str
) -> None:
    path = tmp_path / "a.h5"
    changed = {**begin.as_note(), "texts": {"rig": rig_text}}
    first = JournalRecord(Kind.NOTE, 0, json.dumps(changed).encode())
    build_scan([first, *records[1:]], path)
    plot = nxload(path).get_default()
    assert plot.nxsignal.attrs["units"] == "counts"
    assert plot.nxaxes[0].nxdata[1] == 5
    assert read_scan(path).instrument_text is None


def test_scan_without_a_sample_is_still_a_good_file(
    tmp_path: Path, begin: ScanBegin, note: MakeNote
) -> None:
    path = tmp_path / "a.h5"
    build_scan([note(begin)], path)
    assert validate_file(path) == (0, 0)
    assert nxload(path).get_default().nxname == "profile"
    assert read_scan(path).passes == ()


def test_without_a_good_pass_the_longest_is_drawn(
    tmp_path: Path,
    begin: ScanBegin,
    pass_begin: Callable[..., PassBegin],
    note: MakeNote,
    records: list[JournalRecord],
) -> None:
    path = tmp_path / "a.h5"
    stream = [record for record in records if record.kind is Kind.RX]
    build_scan([note(begin), note(pass_begin(0)), note(pass_begin(1)), *stream], path)
    plot = nxload(path).get_default()
    assert str(plot["title"]) == "pass 1, lane 0, towards the nut, not good"
    assert plot.nxsignal.size == 86


def test_raw_bytes_are_in_it_unchanged(scan_path: Path, records: list[JournalRecord]) -> None:
    from_rig = [record for record in records if record.kind is Kind.RX]
    with h5py.File(scan_path) as file:
        raw = file["entry/raw"]
        assert raw["bytes"][()].tobytes() == b"".join(record.payload for record in from_rig)
        times = raw["t_ns"][()][raw["kind"][()] == Kind.RX]
    assert times.tolist() == [record.t_ns for record in from_rig]
    assert list(records_of(scan_path)) == records


def test_samples_are_counts_packed_and_shuffled(scan_path: Path) -> None:
    with h5py.File(scan_path) as file:
        for name in ("seq", "t_us", "x", "y", "raw", "temp", "pass"):
            column = file["entry/samples"][name]
            assert column.dtype.kind in "iu"
            assert (column.compression, column.compression_opts, column.shuffle) == (
                "gzip",
                1,
                True,
            )
        assert np.unique(file["entry/samples/pass"][()]).tolist() == [-1, 0, 1]


def test_counts_of_the_whole(scan_path: Path) -> None:
    with h5py.File(scan_path) as file:
        counts = {name: int(value[()]) for name, value in file["entry/counts"].items()}
        assert file["entry/passes/lost"][()].tolist() == [0, 2]
        assert file["entry/passes/bad_frames"][()].tolist() == [1, 0]
    assert counts == {"samples": 86, "bad_frames": 1, "lost": 2, "gaps": 1}


def test_replay_gives_the_same_file(tmp_path: Path, scan_path: Path) -> None:
    again = tmp_path / "b.h5"
    build_scan(records_of(scan_path), again)
    one, two = read_scan(scan_path), read_scan(again)
    assert one.passes == two.passes
    assert list(records_of(scan_path)) == list(records_of(again))
    with h5py.File(scan_path) as a, h5py.File(again) as b:
        names: list[str] = []
        a.visit(names.append)
        for name in (name for name in names if isinstance(a[name], h5py.Dataset)):
            assert a[name].dtype == b[name].dtype
            np.testing.assert_array_equal(a[name][()], b[name][()], err_msg=name)


@settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.binary(max_size=60), max_size=8))
def test_whatever_the_rig_sends_a_file_can_be_built_and_replayed(
    tmp_path_factory: pytest.TempPathFactory,
    begin: ScanBegin,
    pass_begin: Callable[..., PassBegin],
    note: MakeNote,
    parts: list[bytes],
) -> None:
    path = tmp_path_factory.mktemp("any") / "a.h5"
    records = [note(begin), note(pass_begin(0))]
    records += [JournalRecord(Kind.RX, at, part) for at, part in enumerate(parts)]
    build_scan(records, path)
    assert list(records_of(path)) == records
    assert read_scan(path).passes[0].bad_frames == collect(records)[0].bad_frames[0]


def test_event_text_that_no_string_in_the_file_can_hold(
    tmp_path: Path, begin: ScanBegin, pass_begin: Callable[..., PassBegin], note: MakeNote
) -> None:
    from daq.wire.line import encode

    event = JournalRecord(Kind.RX, 0, encode.event(5, "reset", "a\0b"))
    build_scan([note(begin), note(pass_begin(0)), event], tmp_path / "a.h5")
    (one,) = read_scan(tmp_path / "a.h5").passes
    assert one.events[0].text == "a\N{REPLACEMENT CHARACTER}b"


def test_file_already_there_is_left_alone(tmp_path: Path, records: list[JournalRecord]) -> None:
    path = tmp_path / "a.h5"
    path.write_bytes(b"precious")
    with pytest.raises(FileError, match="never written over"):
        build_scan(records, path)
    assert path.read_bytes() == b"precious"


def test_records_without_a_scan_leave_nothing_behind(
    tmp_path: Path, records: list[JournalRecord]
) -> None:
    with pytest.raises(FileError, match=r"a\.h5: not built: there is no scan in it"):
        build_scan(records[1:], tmp_path / "a.h5")
    assert list(tmp_path.iterdir()) == []


def test_folder_that_is_missing(tmp_path: Path, records: list[JournalRecord]) -> None:
    with pytest.raises(FileError, match="cannot be written: No such file or directory"):
        build_scan(records, tmp_path / "none" / "a.h5")


def test_file_appears_only_once_it_is_on_the_disk(
    tmp_path: Path, records: list[JournalRecord], monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    path, seen, sync = tmp_path / "a.h5", [], os.fsync

    def watched(fd: int) -> None:
        sync(fd)
        seen.append(path.exists())

    monkeypatch.setattr(os, "fsync", watched)
    build_scan(records, path)
    assert seen == [False, True]
