"""Reading an archive again: stopped, resumed, counted; and what has changed since."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sysconfig
from contextlib import closing
from pathlib import Path

import pytest

from daq.archive.again import Again, read_again
from daq.archive.database import open_archive
from daq.archive.engines.engine import Engine
from daq.archive.engines.readers import readers
from daq.cli.main import main
from daq.errors import FileError

from .history import History, spoilt, unlike


class Told:
    """A progress that remembers."""

    def __init__(self) -> None:
        self.scans = 0
        self.at: list[tuple[int, int]] = []

    def begin(self, scans: int) -> None:
        self.scans = scans

    def moved(self, done: int, faults: int) -> None:
        self.at.append((done, faults))


def again(history: History, folders: tuple[str, ...] = (), engine: Engine | None = None) -> Again:
    with closing(open_archive(history.archive)) as database:
        return read_again(database, engine or readers(2), folders, Told())


def test_counted_named_and_the_rest_done(history: History) -> None:
    scans = [history.scan(n, "strung") for n in (1, 2)]
    bad = spoilt(history, 1)
    history.index([*scans, *bad.values()])
    history.duplicate(history.job(2) / "scans/001-strung.h5", scans[0])
    told = Told()
    with closing(open_archive(history.archive)) as database:
        came = read_again(database, readers(2), [], told)
    assert (came.read, came.already, came.duplicates) == (2, 0, 1)
    assert dict(came.kinds) == {"file": 4}
    assert {line.split(": ")[0] for line in came.faults} == {str(path) for path in bad.values()}
    assert told.scans == 6
    assert told.at[-1] == (6, 4)
    # what was read is left alone, what was not may have been put right
    shutil.copy(scans[0], bad["is cut short"])
    once_more = again(history)
    assert (once_more.read, once_more.already, len(once_more.faults)) == (1, 2, 3)


def test_only_what_lies_under_a_folder(history: History) -> None:
    one, other = history.scan(1, "strung", 1), history.scan(1, "strung", 10)
    history.index([one, other])
    assert again(history, (str(one.parent.parent),)).read == 1
    assert {key.split()[0] for key in history.stored()} == {str(one)}


def test_another_scan_under_the_same_name_is_read(history: History) -> None:
    path = history.scan(1, "strung")
    history.index([path])
    assert again(history).read == 1
    before = history.stored()
    unlike(path, 77)
    history.index([path])
    assert again(history).read == 1
    assert list(history.stored()) == list(before)
    assert history.stored() != before


def test_killed_and_started_again_it_goes_on(history: History) -> None:
    scans = [history.scan(n, "strung") for n in range(1, 7)]
    history.index(scans)
    program = Path(sysconfig.get_path("scripts")) / "neckform"
    line = [program, "--workshop", history.root, "archive", "again", "--workers", "1"]
    with subprocess.Popen(line, stderr=subprocess.PIPE, text=True, start_new_session=True) as first:
        assert first.stderr is not None
        # a line is written once its batch is kept
        assert first.stderr.readline().startswith("4 of 6")
        os.killpg(first.pid, signal.SIGKILL)
    kept = history.stored()
    assert 4 <= len(kept) <= 6
    came = again(history)
    assert (came.already, came.read) == (len(kept), 6 - len(kept))
    whole = history.stored()
    assert {key: whole[key] for key in kept} == kept
    with closing(sqlite3.connect(history.archive)) as database, database:
        database.execute("DELETE FROM readings")
    again(history)
    assert history.stored() == whole


def test_a_new_calibration_has_all_of_its_rig_read_again(
    history: History, capfd: pytest.CaptureFixture[str]
) -> None:
    scans = [history.scan(n, "strung") for n in (1, 2)]
    history.index(scans)
    shop = ["--workshop", str(history.root), "archive"]
    assert main([*shop, "again", "--workers", "2", "--json"]) == 0
    first = json.loads(capfd.readouterr().out)
    assert (first["read"], first["told"]) == (2, [])
    assert main([*shop, "changes", "--json"]) == 0
    assert json.loads(capfd.readouterr().out)["kinds"] == {"first": 2}
    folder = history.root / "calibrations/simulated-rail"
    folder.mkdir(parents=True)
    lag = {
        "kind": "lag", "rig": "simulated-rail", "made": "2026-01-01T00:00:00+00:00",
        "lag_ms": 5.0, "u_lag_ms": 0.1,
        "backlash_mm": 0.0, "u_backlash_mm": 1e-3,
    }  # fmt: skip
    (folder / "lag-20260101T000000.json").write_text(json.dumps(lag))
    assert main([*shop, "again", "--workers", "2"]) == 0
    assert "Read 2 scans." in capfd.readouterr().out
    assert main([*shop, "changes", "--json"]) == 0
    changed = json.loads(capfd.readouterr().out)
    assert (changed["kinds"], changed["scans"]) == ({"within": 2}, [])
    assert 0.0 < changed["tops_um"]["largest"] < 5.0
    # a newer one that is damaged: nothing can be read with it, and that is told
    (folder / "lag-20260102T000000.json").write_text("{")
    assert main([*shop, "again", "--workers", "2"]) == 0
    assert main([*shop, "changes", "--json"]) == 0
    changed = json.loads(capfd.readouterr().out.splitlines()[-1])
    assert changed["kinds"] == {"lost": 2}
    assert [one["url"] for one in changed["scans"]] == [str(path) for path in scans]
    assert "lag-20260102T000000.json" in changed["scans"][0]["fault"]
    assert changed["scans"][0]["way_then"] != changed["scans"][0]["way_now"]
    assert main([*shop, "changes"]) == 0
    assert "2 scans could be read before, and no longer" in capfd.readouterr().out


def test_what_a_person_gets_wrong_is_one_line(
    history: History, capfd: pytest.CaptureFixture[str]
) -> None:
    shop = ["--workshop", str(history.root), "archive"]
    assert main([*shop, "again"]) == 2
    assert "found no archive; make it with: neckform archive index" in capfd.readouterr().err
    history.index([history.scan(1, "strung")])
    assert main([*shop, "again", "/nowhere"]) == 2
    assert "has no scan under /nowhere" in capfd.readouterr().err
    assert main([*shop, "again", "--workers", "1", "--scheduler", "tcp://127.0.0.1:1"]) == 2
    assert "--workers: a cluster has its own" in capfd.readouterr().err


def test_an_archive_of_a_newer_program(history: History) -> None:
    with closing(open_archive(history.archive)) as database:
        database.execute("PRAGMA user_version = 2")
    with pytest.raises(FileError, match="is an archive of version 2, and this program reads up"):
        open_archive(history.archive)
    history.archive.with_name("else.db").write_text("no database, and long enough to be looked at")
    with pytest.raises(FileError, match=r"else\.db: cannot be opened as an archive"):
        open_archive(history.archive.with_name("else.db"))
