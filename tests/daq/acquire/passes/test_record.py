"""A scan from command to file, and what is left of one that was cut short."""

from __future__ import annotations

from collections import namedtuple
from pathlib import Path
from typing import Any

import pytest

from daq.acquire.passes import space
from daq.acquire.passes.lanes import LanePlan, both_ways
from daq.acquire.passes.progress import NoProgress
from daq.acquire.passes.space import bytes_needed
from daq.acquire.use import OwnRig
from daq.errors import FileError, InputError, RigError
from daq.files.rig import RigFile
from daq.link.faults import LinkLost
from daq.record.notes import ScanBegin
from daq.record.recover import recover
from daq.record.scan import read_scan
from daq.wire.line import encode

LANE = LanePlan(1, 2.5, "between", (5.0, 1.0), (93.0, 2.0), False)
PASSES = both_ways([LANE], 25.0)
Usage = namedtuple("Usage", "total used free")


@pytest.fixture
def begin(rig_text: str) -> ScanBegin:
    started = "2025-01-02T03:04:05+01:00"
    return ScanBegin(
        "a1", "scan", "strung", "", "parlour", started, "neckform 0", rig_text, None, {}
    )


def record(fake: Any, rig_file: RigFile, begin: ScanBegin, out: Path) -> Path:
    opened = lambda *_: fake  # noqa: E731
    return OwnRig(rig_file, opened).record(begin, PASSES, out, NoProgress(), nobody)


def nobody(what: str) -> None:
    raise InputError(f"{what}: nobody is there to do it")


def test_a_scan_becomes_a_file_and_nothing_else(
    fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    fake = fake_rig()
    out = record(fake, rig_file, begin, tmp_path / "a.h5")
    assert list(tmp_path.iterdir()) == [out]
    assert fake.closed
    scan = read_scan(out)
    assert (scan.id, scan.end, scan.rig_text) == ("a1", "done", rig_file.text)
    assert [(one.direction, one.good, len(one.samples)) for one in scan.passes] == [
        (1, True, 1408),
        (-1, True, 1408),
    ]
    assert scan.passes[1].events[-1].word == "arrived"


def test_a_pulled_cable_leaves_a_journal_that_recover_reads(
    fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    def come_loose(rig: Any, fields: list[str]) -> None:
        if rig.commands.count("G,400") < 2 or not rig.rate_hz:
            return rig.do_M(fields)
        rig.say(encode.accept("M"), *rig.travel(fields, 0.5))
        return rig.pull()

    with pytest.raises(RigError) as caught:
        record(fake_rig({"M": come_loose}), rig_file, begin, tmp_path / "a.h5")
    assert str(caught.value) == (
        f"{LinkLost('/dev/fake')}; what was recorded before is kept in "
        f"{tmp_path / 'a.journal'}, and `neckform recover {tmp_path}` makes a scan of it"
    )
    recover(tmp_path)
    scan = read_scan(tmp_path / "a.h5")
    assert [(one.good, len(one.samples)) for one in scan.passes] == [(True, 1408), (False, 704)]
    assert scan.end == "failed"


def test_a_rig_that_never_answers_leaves_nothing(
    fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    fake = fake_rig()
    fake.pull()
    with pytest.raises(RigError) as caught:
        record(fake, rig_file, begin, tmp_path / "a.h5")
    assert str(caught.value) == str(LinkLost("/dev/fake"))
    assert list(tmp_path.iterdir()) == []
    assert fake.closed


def test_more_than_the_rig_can_do(
    fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    slow = fake_rig({"H": lambda rig, fields: rig.say(encode.hello_reply("slow-1", 200))})
    with pytest.raises(InputError, match=r"sensor.rate_hz: found 400; allowed at most 200"):
        record(slow, rig_file, begin, tmp_path / "a.h5")


@pytest.mark.parametrize(
    ("left", "line"), [("a.h5", "is already there"), ("a.journal", "neckform recover")]
)
def test_nothing_is_written_over(
    left: str, line: str, fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    (tmp_path / left).write_bytes(b"precious")
    with pytest.raises(FileError, match=line):
        record(fake_rig(), rig_file, begin, tmp_path / "a.h5")
    assert (tmp_path / left).read_bytes() == b"precious"


def test_a_full_disk_is_found_out_before(
    fake_rig: Any,
    rig_file: RigFile,
    begin: ScanBegin,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    fake = fake_rig()
    monkeypatch.setattr(space.shutil, "disk_usage", lambda folder: Usage(9e9, 9e9, 1e5))
    with pytest.raises(FileError, match=r"0.1 MB are free and the scan needs 2.4 MB"):
        record(fake, rig_file, begin, tmp_path / "a.h5")
    assert fake.commands == []


def test_bytes_needed(rig_file: RigFile) -> None:
    # Twice 88 mm at 25 mm/s and 400 Hz, 60 bytes a sample, two and a half times over.
    assert bytes_needed(rig_file, PASSES) == 2 * 1408 * 150 + 2_000_000


def test_a_folder_that_is_not_there(
    fake_rig: Any, rig_file: RigFile, begin: ScanBegin, tmp_path: Path
) -> None:
    with pytest.raises(FileError, match="cannot write a scan there"):
        record(fake_rig(), rig_file, begin, tmp_path / "no" / "a.h5")
