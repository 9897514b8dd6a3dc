"""A disk that takes long to sync: whoever reads the ports never waits for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.acquire.links.inbox import Chunk, Inbox
from daq.cli.main import main
from daq.demo.bench import software_rig
from daq.record.journal_format import Kind
from daq.record.raw import records_of
from daq.record.recover import recover

from ..campaign.record.killing import Shop
from ..campaign.record.stress import SYNC_S, stress


def test_two_links_over_a_slow_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = stress(tmp_path / "a.journal", 3.0, monkeypatch)
    assert found.samples > 10_000
    assert found.syncs > 8
    assert found.lost == (0, 0)
    assert found.away_s < 0.9 * SYNC_S
    # what came in two syncs, one after the other
    assert found.deepest < 3 * SYNC_S * 2 * 2000 * 50


def test_too_much_waiting_stops_the_pass_and_says_so(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    most = 20_000
    monkeypatch.setattr(Inbox.__init__, "__defaults__", (most,))
    came, deepest, put = bytearray(), [0], Inbox.put

    def watched_put(inbox: Inbox, chunk: Chunk) -> None:
        came.extend(chunk.data)
        try:
            put(inbox, chunk)
        finally:
            deepest[0] = max(deepest[0], inbox.waiting_bytes)

    monkeypatch.setattr(Inbox, "put", watched_put)
    with software_rig(5) as bench:
        shop = Shop(bench, tmp_path)
        code = main(shop.scanning(shop.rig))
    err = capfd.readouterr().err
    faults = [line for line in err.splitlines() if line.startswith("neckform: ")]
    assert (code, len(faults)) == (3, 1)
    assert "the rig sends faster than this machine can record: more than 20,000 bytes" in faults[0]
    assert f"`neckform recover {shop.journals[0].parent}` makes a scan of it" in faults[0]
    assert deepest[0] < most + 65_536
    (found,) = recover(shop.root)
    assert found.scan is not None
    assert found.scan.end == "failed"
    assert "faster than this machine can record" in found.scan.why
    assert not found.scan.passes[-1].good
    # to the last byte that came before reading stopped
    records = records_of(found.scan.path)
    assert came.endswith(b"".join(r.payload for r in records if r.kind is Kind.RX))
