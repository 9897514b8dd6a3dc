"""Stopped, killed, or out of disk: the rig stands still and everything recorded is kept."""

from __future__ import annotations

import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from daq.record.journal import read_journal
from daq.record.journal_format import Kind
from daq.record.raw import records_of
from daq.record.scan import read_scan

Type = Callable[..., Any]
SCAN = "scan empty --rig {rig} --state strung"


def was_halted(scan: Path) -> bool:
    """The halt was sent, and the rig has said that it stands."""
    records = list(records_of(scan))
    sent = any(r.kind is Kind.TX and r.payload.startswith(b"K*") for r in records)
    return sent and b",halted" in b"".join(r.payload for r in records if r.kind is Kind.RX)


def test_ctrl_c_in_the_middle_of_a_pass(
    live: Any, type_in: Type, in_pass: Callable[..., None]
) -> None:
    in_pass(2, lambda: signal.raise_signal(signal.SIGINT))
    done = type_in(live, SCAN)
    path = live.scan("001-strung", "empty")
    assert done.code == 3
    assert len(done.faults) == 1
    assert done.faults[0].startswith("neckform: stopped; what was recorded is kept in")
    assert f"`neckform recover {path.parent}` makes a scan of it" in done.faults[0]
    assert type_in(live, "recover").code == 0
    scan = read_scan(path)
    assert scan.end == "interrupted"
    assert [(one.good, one.why) for one in scan.passes] == [
        (True, ()),
        (False, ("stopped by the user",)),
    ]
    assert was_halted(path)


def test_signals_from_outside(live: Any, type_in: Type, started: Callable[..., Any]) -> None:
    """The first one stops the scan; an impatient second does not cut the halting short."""
    with started(live.words(SCAN)) as process:
        process.send_signal(signal.SIGTERM)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate()
    assert process.returncode == 3
    faults = [line for line in err.splitlines() if line.startswith("neckform: ")]
    assert len(faults) == 1
    assert "stopped; what was recorded is kept" in faults[0]
    assert "Traceback" not in err
    assert type_in(live, "recover").code == 0
    scan = read_scan(live.scan("001-strung", "empty"))
    assert scan.end == "interrupted"
    assert scan.passes[0].good
    assert was_halted(scan.path)


def test_killed_and_recovered(live: Any, type_in: Type, started: Callable[..., Any]) -> None:
    with started(live.words(SCAN)) as process:
        process.kill()
        process.communicate()
    path = live.scan("001-strung", "empty")
    kept = list(read_journal(path.with_suffix(".journal")))
    done = type_in(live, "recover {shop}")
    assert done.code == 0
    assert done.faults == []
    assert list(records_of(path)) == kept
    scan = read_scan(path)
    assert scan.end == "interrupted"
    assert scan.passes[0].good
    assert "Nothing was left behind" in type_in(live, "recover").out


def test_a_live_scan_is_not_recovered(
    live: Any, type_in: Type, started: Callable[..., Any]
) -> None:
    with started(live.words("scan empty --rig {rig} --state unstrung")) as process:
        done = type_in(live, "recover")
        assert process.poll() is None
    assert done.code == 3
    assert len(done.faults) == 1
    assert "a running program is still writing it" in done.faults[0]


@pytest.mark.parametrize("most", [1_000, 800_000])
def test_a_full_disk(
    live: Any, type_in: Type, run: Type, limited: Callable[[int], list[str]], most: int
) -> None:
    done = run(limited(most), live.words(SCAN))
    assert done.code == 3
    assert len(done.faults) == 1
    assert "writing the journal failed" in done.faults[0]
    assert "Traceback" not in done.err
    journals = list(live.root.rglob("*.journal"))
    assert len(journals) == (most > 1_000)
    kept = [record for journal in journals for record in read_journal(journal)]
    assert type_in(live, "recover").code == 0
    if kept:
        scan = read_scan(live.scan("001-strung", "empty"))
        assert list(records_of(scan.path)) == kept
        assert scan.passes[0].good
        assert scan.end == "interrupted"


def test_a_disk_too_full_to_recover_loses_nothing(
    live: Any,
    type_in: Type,
    run: Type,
    started: Callable[..., Any],
    limited: Callable[[int], list[str]],
) -> None:
    with started(live.words(SCAN)) as process:
        process.kill()
        process.communicate()
    path = live.scan("001-strung", "empty")
    done = run(limited(50_000), live.words("recover"))
    assert done.code == 3
    assert len(done.faults) == 1
    assert "cannot be written: File too large; the journal is kept" in done.faults[0]
    assert not path.exists()
    assert type_in(live, "recover").code == 0
    assert path.exists()


def test_ctrl_c_while_nothing_is_recorded(
    shop: Any, type_in: Type, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr("daq.cli.work.plan_job", stop)
    done = type_in(shop, "plan good")
    assert (done.code, done.err) == (3, "neckform: stopped\n")
