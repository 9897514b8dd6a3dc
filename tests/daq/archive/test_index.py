from __future__ import annotations

import os
import signal
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from daq.archive import head as head_room
from daq.archive.database import archive
from daq.archive.index import index
from daq.archive.places import Seen
from daq.archive.rows import ScanRow
from daq.record.head import ScanHead
from daq.record.scanfile import build_scan

from .conftest import DAMAGED, LOST, NOISE, SAMPLES, Put, put_reading, rows_of, two_links


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that were opened, in order."""
    names: list[str] = []
    real = head_room.read_head

    def counting(path: Path) -> ScanHead:
        names.append(path.name)
        return real(path)

    monkeypatch.setattr(head_room, "read_head", counting)
    return names


def test_a_scan_says_what_it_is(db: sqlite3.Connection, tmp_path: Path, put: Put) -> None:
    path = put(tmp_path / "shop/jobs/parlour/scans/001-strung.h5", id="scan-0")
    before = path.read_bytes()
    indexed = index(db, [str(tmp_path / "shop")])
    (row,) = rows_of(db).values()
    assert (row.url, row.size, row.kind, row.fault) == (str(path), len(before), "scan", None)
    assert (row.scan_id, row.job, row.state) == ("scan-0", "parlour", "strung")
    assert row.made == "2024-05-03T14:02:10+00:00"
    assert (row.instrument, row.strings, row.frets, row.rig) == ("walnut parlour", 3, 22, "bench")
    assert (row.rod_turns, row.celsius) == (0.25, 21.5)
    assert row.lost == pytest.approx(LOST / (SAMPLES + LOST))
    assert row.damaged == pytest.approx(DAMAGED / (SAMPLES + DAMAGED))
    # 498 second differences, correlated: a fifteenth; the rough part is off the pad
    assert row.noise_um == pytest.approx(NOISE, rel=0.15)
    assert (indexed.found, indexed.opened, indexed.gone, indexed.scans) == (1, 1, 0, 1)
    assert path.read_bytes() == before


def test_the_second_time_opens_nothing(
    db: sqlite3.Connection, tmp_path: Path, put: Put, opened: list[str]
) -> None:
    for name in "abc":
        put(tmp_path / f"shop/{name}.h5")
    (tmp_path / "shop/broken.h5").write_bytes(b"no scan")
    index(db, [str(tmp_path / "shop")])
    assert sorted(opened) == ["a.h5", "b.h5", "broken.h5", "c.h5"]
    opened.clear()
    again = index(db, [str(tmp_path / "shop")])
    assert opened == []
    assert (again.found, again.opened, again.scans, again.faults) == (4, 0, 3, {"foreign": 1})


def test_only_what_changed_is_opened(
    db: sqlite3.Connection, tmp_path: Path, put: Put, opened: list[str]
) -> None:
    for name in "abc":
        put_reading(db, str(put(tmp_path / f"shop/{name}.h5")))
    places = [str(tmp_path / "shop")]
    index(db, places)
    for name in "abc":
        put_reading(db, str(tmp_path / f"shop/{name}.h5"))
    opened.clear()
    put(tmp_path / "shop/b.h5", state="unstrung", id="other")
    (tmp_path / "shop/c.h5").unlink()
    put(tmp_path / "shop/new/d.h5")
    indexed = index(db, places)
    assert sorted(opened) == ["b.h5", "d.h5"]
    assert (indexed.opened, indexed.gone) == (2, 1)
    rows = {Path(url).name: row for url, row in rows_of(db).items()}
    assert {name: row.state for name, row in rows.items()} == {
        "a.h5": "strung", "b.h5": "unstrung", "d.h5": "strung",
    }  # fmt: skip
    # what was read of a file that has changed, or is gone, is of something else
    assert [Path(url).name for (url,) in db.execute("SELECT url FROM readings")] == ["a.h5"]


def test_other_folders_rows_stay(db: sqlite3.Connection, tmp_path: Path, put: Put) -> None:
    first, second = put(tmp_path / "one/a.h5"), put(tmp_path / "one more/b.h5")
    index(db, [str(tmp_path / "one"), str(tmp_path / "one more")])
    first.unlink()
    put(tmp_path / "one/c.h5")
    index(db, [str(tmp_path / "one")])
    assert set(rows_of(db)) == {str(tmp_path / "one/c.h5"), str(second)}


def test_copies_are_named_whatever_the_order(
    db: sqlite3.Connection, tmp_path: Path, put: Put
) -> None:
    late = put(tmp_path / "z/a.h5", id="same")
    index(db, [str(tmp_path / "z")])
    early = put(tmp_path / "b/a.h5", id="same")
    put(tmp_path / "b/other.h5")
    indexed = index(db, [str(tmp_path)])
    assert [(row.url, row.duplicate_of) for row in indexed.duplicates] == [(str(late), str(early))]
    early.unlink()
    assert index(db, [str(tmp_path)]).duplicates == ()
    assert rows_of(db)[str(late)].duplicate_of is None


def test_an_older_programs_newer_file_is_opened_again_by_a_newer_program(
    db: sqlite3.Connection,
    tmp_path: Path,
    put: Put,
    opened: list[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    put(tmp_path / "shop/a.h5", format_version=3)
    places = [str(tmp_path / "shop")]
    assert index(db, places).faults == {"newer version": 1}
    assert index(db, places).opened == 0
    for module in ("daq.record.hdf5", "daq.archive.index"):
        monkeypatch.setattr(f"{module}.VERSION", 3)
    assert (index(db, places).opened, index(db, places).scans) == (1, 1)
    assert index(db, places).opened == 0


def test_a_calibrations_scan_is_another_kind(
    db: sqlite3.Connection, tmp_path: Path, put: Put
) -> None:
    put(tmp_path / "shop/a.h5", purpose="rail", state=None, job="", instrument=None)
    indexed = index(db, [str(tmp_path / "shop")])
    (row,) = rows_of(db).values()
    assert (row.kind, row.job, row.state, row.instrument) == ("other", None, None, None)
    assert (indexed.scans, indexed.others) == (0, 1)


@pytest.mark.parametrize(
    "text", ["", "[1, 2]", "name: [", "pads: 3\nsensor: x", "\x00", "pads: [1]"]
)
def test_a_rig_file_that_says_nothing_is_no_fault(
    db: sqlite3.Connection, tmp_path: Path, put: Put, text: str
) -> None:
    put(tmp_path / "shop/a.h5", rig=text.replace("\0", "�"), instrument=text.replace("\0", "�"))
    index(db, [str(tmp_path / "shop")])
    (row,) = rows_of(db).values()
    assert (row.fault, row.rig, row.instrument, row.noise_um) == (None, None, None, None)


def test_a_rig_of_two_links_tells_its_noise_too(db: sqlite3.Connection, tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    build_scan(two_links(), tmp_path / "shop/a.h5")
    index(db, [str(tmp_path / "shop")])
    (row,) = rows_of(db).values()
    assert row.fault is None
    assert row.noise_um == pytest.approx(NOISE, rel=0.15)
    assert row.lost == pytest.approx(LOST / (SAMPLES + LOST))


def test_who_is_stopped_goes_on_where_it_was(
    db: sqlite3.Connection, tmp_path: Path, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("daq.archive.index._AT_ONCE", 2)
    monkeypatch.setattr("daq.archive.index._GROUP", 1)
    for name in "abcdefg":
        put(tmp_path / f"shop/{name}.h5")

    def stop(done: int, _total: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        index(db, [str(tmp_path / "shop")], stop)
    assert len(rows_of(db)) == 4
    again = index(db, [str(tmp_path / "shop")])
    assert (again.opened, again.scans) == (3, 7)


@pytest.mark.parametrize("forked", [True, False])
def test_several_workers_make_the_same_rows(
    tmp_path: Path, put: Put, monkeypatch: pytest.MonkeyPatch, forked: bool
) -> None:
    for number in range(5):
        put(tmp_path / f"shop/{number}.h5", id=f"scan-{number}")
    (tmp_path / "shop/cut.h5").write_bytes((tmp_path / "shop/0.h5").read_bytes()[:-2000])
    monkeypatch.setattr("daq.archive.index._MANY", 1)
    monkeypatch.setattr("daq.archive.index._GROUP", 2)
    monkeypatch.setattr("daq.archive.engines.pool._may_fork", lambda: forked)
    rows = []
    for workers in (1, 2):
        with archive(tmp_path / f"{workers}.db") as db:
            came = index(db, [str(tmp_path / "shop")], workers=workers)
            assert (came.opened, came.scans, came.faults) == (6, 5, {"cut short": 1})
            rows.append({url: replace(row, seen="") for url, row in rows_of(db).items()})
    assert rows[0] == rows[1]


def test_a_file_that_kills_who_opens_it_costs_itself_alone(
    db: sqlite3.Connection, tmp_path: Path, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("a", "killer", "z"):
        put(tmp_path / f"shop/{name}.h5", id=name)

    def deadly(group: Sequence[Seen]) -> list[ScanRow]:
        if any("killer" in seen.url for seen in group):
            os.kill(os.getpid(), signal.SIGKILL)
        return head_room.rows_of(group)

    monkeypatch.setattr("daq.archive.index._MANY", 1)
    monkeypatch.setattr("daq.archive.engines.pool._may_fork", lambda: True)
    with monkeypatch.context() as patched:
        patched.setattr("daq.archive.index.rows_of", deadly)
        came = index(db, [str(tmp_path / "shop")], workers=2)
    (faulty,) = came.faulty
    assert Path(faulty.url).name == "killer.h5"
    assert "ended the process that opened it" in str(faulty.fault)
    assert came.scans == 2
    # tried anew, for it may have been the machine
    assert index(db, [str(tmp_path / "shop")]).scans == 3


def test_progress_is_told(db: sqlite3.Connection, tmp_path: Path, put: Put) -> None:
    for name in "ab":
        put(tmp_path / f"shop/{name}.h5")
    told: list[Any] = []
    index(db, [str(tmp_path / "shop")], lambda *counts: told.append(counts))
    assert told == [(2, 2)]
