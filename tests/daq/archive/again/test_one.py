"""One scan read again: the numbers of `neckform tops`, and every fault in a line."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import fsspec
import numpy as np
import pytest

from analysis.neck.shape import strung_shape, unstrung_shape
from analysis.wear.wear import wear_of
from daq.archive.beside import Beside, Stored, Workshops
from daq.archive.numbers import off_neighbours_mm
from daq.archive.one import Task, read_one
from daq.archive.reading import Reading
from daq.reading.neck import read_scan_neck, rig_of
from daq.record.scan import read_scan
from daq.workshop.place import Workshop

from .conftest import ReadBefore
from .history import RIG, History


def read(url: Path | str, beside: Beside | None = None) -> Reading:
    beside = Workshops().beside(str(url), RIG) if beside is None else beside
    return read_one(Task(str(url), beside, beside.way))


@pytest.mark.parametrize("state", ["strung", "unstrung"])
def test_the_numbers_are_those_of_the_neck(serial: ReadBefore, state: str) -> None:
    found = next(one for one in serial.readings if one.url.endswith(f"-{state}.h5") and one.scan_id)
    scan = read_scan(Path(found.url))
    workshop = Workshop(serial.history.root)
    instrument = workshop.job(Path(found.url).parent.parent.name).instrument().record
    neck = read_scan_neck(scan, instrument, workshop.calibrations(rig_of(scan).name)).neck
    shape = (strung_shape if state == "strung" else unstrung_shape)(neck, instrument)
    relief = np.median([one.relief_mm for one in shape.relief])
    assert found.relief_um == pytest.approx(1e3 * relief, abs=1e-9)
    document = json.loads(found.document)
    tops = np.array(document["top_um"], dtype=float)
    np.testing.assert_allclose(tops, 1e3 * shape.top_mm, atol=6e-4)
    assert found.u_top_um == pytest.approx(1e3 * np.nanmedian(shape.u_top_mm), abs=1e-9)
    if state == "strung":
        assert found.wear_um is None
        assert "dent_um" not in document
    else:
        dents = 1e3 * wear_of(neck, instrument).dent_mm
        np.testing.assert_allclose(np.array(document["dent_um"], float), dents, atol=6e-4)
        assert found.wear_um is not None
        assert 5.0 < found.wear_um <= np.nanmax(dents)


def test_a_top_is_measured_against_the_line_through_its_neighbours() -> None:
    x = np.array([[0.0], [30.0], [50.0], [70.0]])
    top = 0.01 * x + 1.0
    top[2] += 0.05
    np.testing.assert_allclose(off_neighbours_mm(x, top)[:, 0], [-0.05 * 30.0 / 50.0, 0.05])


def test_every_spoilt_file_is_one_line_that_names_it(serial: ReadBefore) -> None:
    faults = {one.url: one for one in serial.readings if one.outcome == "fault"}
    assert set(faults) == {str(path) for path in serial.spoilt.values()}
    for words, path in serial.spoilt.items():
        told = faults[str(path)].fault
        assert told is not None
        assert told.startswith(f"{path}: ")
        assert words in told
        assert "\n" not in told
        assert faults[str(path)].kind == "file"


def test_what_else_can_be_wrong(history: History) -> None:
    path = history.scan(1, "strung")
    gone = read(path.with_name("009-strung.h5"))
    assert (gone.kind, gone.fault) == ("file", f"{gone.url}: there is no such file")
    whole = Workshops().beside(str(path), RIG)
    assert whole.instrument is not None
    wrong = Stored("/jobs/x/instrument.yaml", whole.instrument.text.replace("frets:", "frots:"))
    told = read(path, replace(whole, instrument=wrong))
    assert told.kind == "neck"
    assert told.fault is not None
    assert str(path) in told.fault
    assert "/jobs/x/instrument.yaml" in told.fault
    assert "\n" not in told.fault
    damaged = Stored("/calibrations/lag-20200101T000000.json", "{")
    told = read(path, replace(whole, calibrations={"lag": damaged}))
    assert told.kind == "file"
    assert "lag-20200101T000000.json" in str(told.fault)
    other = replace(whole, rig="another", calibrations={"lag": damaged})
    assert "is of rig simulated-rail, and the archive has it as of another" in str(
        read(path, other).fault
    )
    assert "cannot be listed" in str(read(path, Beside(RIG, fault="x: cannot be listed")).fault)


def test_a_fault_of_the_program_is_told_too(
    history: History, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = history.scan(1, "strung")
    monkeypatch.setattr("daq.archive.one.read_scan", lambda _: 1 / 0)
    told = read(path)
    assert (told.kind, told.fault) == ("program", f"{path}: ZeroDivisionError: division by zero")


def test_a_scan_away_from_its_job_is_read_by_what_it_brings(
    history: History, tmp_path: Path
) -> None:
    own = history.scan(1, "strung")
    loose = tmp_path / "loose.h5"
    shutil.copy(own, loose)
    at_home, away = read(own), read(loose)
    assert Workshops().beside(str(loose), RIG) == Beside(RIG)
    assert away.way != at_home.way
    assert (away.outcome, away.document) == ("read", at_home.document)


def test_another_machines_files_are_read_alike(history: History) -> None:
    own = history.scan(1, "strung")
    far = fsspec.filesystem("memory")
    root = "memory://share/workshop"
    far.put(str(history.root), "/share/workshop", recursive=True)
    url = f"{root}/jobs/neck-001/scans/001-strung.h5"
    found, at_home = read(url), read(own)
    assert (found.way, found.document) == (at_home.way, at_home.document)
    far.pipe_file("/share/workshop/jobs/neck-001/scans/002-strung.h5", own.read_bytes()[:100_000])
    cut = url.replace("001-strung", "002-strung")
    told = read(cut).fault
    assert told is not None
    assert told.startswith(f"{cut}: the scan file is cut short")
    gone = url.replace("001-strung", "003-strung")
    assert read(gone).fault == f"{gone}: there is no such file"
    assert "cannot be read" in str(read("nosuch://x/scan.h5").fault)
    far.rm("/share", recursive=True)


def test_the_way_follows_what_a_scan_is_read_with(history: History) -> None:
    path = str(history.scan(1, "strung"))
    first = Workshops().beside(path, RIG).way
    assert Workshops().beside(path, RIG).way == first
    folder = history.root / "calibrations" / RIG
    folder.mkdir(parents=True)
    (folder / "lag-20260101T000000.json").write_text("{}")
    (folder / "repeatability-20260101T000000.json").write_text("{}")
    calibrated = Workshops().beside(path, RIG)
    assert calibrated.way != first
    assert set(calibrated.calibrations) == {"lag"}
    (folder / "lag-20250101T000000.json").write_text("an older one")
    assert Workshops().beside(path, RIG).way == calibrated.way
    assert Workshops().beside(path, "another").way == first
    text = history.job(1) / "instrument.yaml"
    text.write_text(text.read_text() + "\n# measured again\n")
    assert Workshops().beside(path, "another").way != first
