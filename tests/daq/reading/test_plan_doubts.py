"""What the scans a plan rests on leave in doubt."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

from daq.reading.doubts import remarks_of
from daq.reading.repeats import Repeats, ScanLeftOut


def scan(name: str, *described: str, remarks: tuple[str, ...] = (), **repeats: Any) -> Any:
    return SimpleNamespace(
        scan=SimpleNamespace(path=Path("job/scans") / name),
        remarks=remarks,
        calibrations=SimpleNamespace(described=described),
        repeats=Repeats((Path(name),), **repeats),
    )


def both(strung: Any, unstrung: Any) -> Any:
    return SimpleNamespace(strung_scan=strung, paired_scan=unstrung, unstrung_scan=unstrung)


RAIL = "rail: straightedge, calibrated 2026-11-01, 3 days before the scan, at 21.0 °C"
LAG = "lag: calibrated 2026-11-01"


def test_all_in_order_leaves_none() -> None:
    found = remarks_of(both(scan("001-strung.h5", RAIL, LAG), scan("002-unstrung.h5", RAIL, LAG)))
    assert found == ()


def test_calibrations_that_are_missing_or_old_are_said_once() -> None:
    none = "rail: no error map; the carriage's own bow stands in every height"
    old = f"{RAIL}; that is long: map the rail again"
    found = remarks_of(both(scan("001-strung.h5", none, LAG), scan("002-unstrung.h5", none, LAG)))
    assert found == (none,)
    assert remarks_of(both(scan("001-strung.h5", RAIL), scan("002-unstrung.h5", old))) == (old,)


def test_remarks_and_scans_left_out_name_their_scan() -> None:
    left = ScanLeftOut(Path("job/scans/002-unstrung.h5"), "metal came off since")
    strung = scan("001-strung.h5", remarks=("passes one way only",))
    found = remarks_of(both(strung, scan("003-unstrung.h5", left_out=(left,))))
    assert found == (
        "001-strung.h5: passes one way only",
        "002-unstrung.h5 is left out: metal came off since",
    )


def test_an_unstrung_scan_older_than_the_strung_one() -> None:
    (found,) = remarks_of(both(scan("004-strung.h5"), scan("002-unstrung.h5")))
    assert found == (
        "the unstrung scan 002 is older than the strung one 004: what was filed or seated "
        "between the two is not in it"
    )
