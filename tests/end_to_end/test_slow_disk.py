"""A disk that takes long to sync: whoever reads the ports never waits for it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from daq.acquire.inbox import Inbox
from daq.record.journal_format import Kind
from daq.record.raw import records_of
from daq.record.scan import read_scan

from ..campaign.record.stress import SYNC_S, stress

Type = Callable[..., Any]


def test_two_links_over_a_slow_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = stress(tmp_path / "a.journal", 3.0, monkeypatch)
    assert found.samples > 10_000
    assert found.syncs > 8
    assert found.lost == (0, 0)
    assert found.away_s < 0.9 * SYNC_S
    # what came in two syncs, one after the other
    assert found.deepest < 3 * SYNC_S * 2 * 2000 * 50


def test_too_much_waiting_stops_the_pass_and_says_so(
    live: Any, type_in: Type, monkeypatch: pytest.MonkeyPatch
) -> None:
    most = 20_000
    monkeypatch.setattr(Inbox.__init__, "__defaults__", (most,))
    came, deepest, put = bytearray(), [0], Inbox.put

    def watched_put(inbox: Inbox, chunk: Any) -> None:
        came.extend(chunk.data)
        try:
            put(inbox, chunk)
        finally:
            deepest[0] = max(deepest[0], inbox.waiting_bytes)

    monkeypatch.setattr(Inbox, "put", watched_put)
    done = type_in(live, "scan empty --rig {rig} --state strung")
    assert done.code == 3
    assert len(done.faults) == 1
    assert "the rig sends faster than this machine can record: more than 20,000 bytes" in done.err
    path = live.scan("001-strung", "empty")
    assert f"`neckform recover {path.parent}` makes a scan of it" in done.faults[0]
    assert deepest[0] < most + 65_536
    assert type_in(live, "recover").code == 0
    scan = read_scan(path)
    assert scan.end == "failed"
    assert "faster than this machine can record" in scan.why
    assert not scan.passes[-1].good
    # to the last byte that came before reading stopped
    assert came.endswith(b"".join(r.payload for r in records_of(path) if r.kind is Kind.RX))
