"""Rigs that are absent, busy, silent, noisy, stuck, or whose cable comes out."""

from __future__ import annotations

import fcntl
import os
import re
import threading
import tty
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from daq.demo.bench import Bench
from daq.record.scan import read_scan

Type = Callable[..., Any]


@pytest.fixture
def line() -> Iterator[tuple[int, int]]:
    """A pseudo-terminal with no rig behind it: the far end and the port."""
    far, port = os.openpty()
    tty.setraw(port)
    yield far, port
    os.close(port)
    os.close(far)


def set_port(shop: Any, port: str) -> None:
    text = shop.rig.read_text()
    shop.rig.write_text(re.sub(r"port: [^,]+", f"port: {port}", text))


def failed(done: Any, *says: str) -> None:
    assert done.code == 3
    assert len(done.faults) == 1
    assert "Traceback" not in done.err
    assert done.out == ""
    for part in says:
        assert part in done.faults[0]


@pytest.mark.parametrize(
    "command",
    [
        "rig check {rig} --json",
        "scan good --rig {rig} --state strung --json",
        "calibrate rail --rig {rig} --json",
        "calibrate lag --rig {rig} --json",
    ],
)
def test_a_port_that_is_absent(shop: Any, type_in: Type, command: str) -> None:
    before = sorted(path for path in shop.folder.rglob("*"))
    failed(type_in(shop, command), "there is no port /dev/not-plugged-in", "set one in the rig")
    assert sorted(path for path in shop.folder.rglob("*")) == before


@pytest.mark.parametrize("port", ["/dev/null", __file__])
def test_a_port_that_is_none(shop: Any, type_in: Type, port: str) -> None:
    set_port(shop, port)
    failed(type_in(shop, "rig check {rig}"), f"{port} does not open as a serial port")


def test_a_port_that_is_busy(shop: Any, type_in: Type, line: tuple[int, int]) -> None:
    _, port = line
    fcntl.flock(port, fcntl.LOCK_EX)
    set_port(shop, os.ttyname(port))
    failed(type_in(shop, "scan good --rig {rig} --state strung"), "is busy: another program has it")


def test_a_port_that_is_silent(
    shop: Any, type_in: Type, line: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("daq.acquire.rig.rig.Rig.hello.__defaults__", (1.0,))
    set_port(shop, os.ttyname(line[1]))
    failed(type_in(shop, "rig check {rig}"), "did not answer hello: nothing came for 1 s")


def test_a_rig_that_answers_with_noise(shop: Any, type_in: Type, line: tuple[int, int]) -> None:
    far, port = line
    done = threading.Event()

    def noisy() -> None:
        while not done.is_set():
            os.write(far, bytes(range(1, 256)))

    set_port(shop, os.ttyname(port))
    talker = threading.Thread(target=noisy)
    talker.start()
    try:
        failed(
            type_in(shop, "rig check {rig}"),
            "none of them a good frame",
            "the rig file says protocol line at 460800 baud: try baud",
        )
    finally:
        done.set()
        fcntl.fcntl(port, fcntl.F_SETFL, os.O_NONBLOCK)
        while talker.is_alive():  # it may wait for room on the line
            drain(port)
            talker.join(0.01)


def drain(port: int) -> None:
    try:
        os.read(port, 65_536)
    except BlockingIOError:
        return


def test_noise_on_the_cable_is_counted_and_dropped(
    live: Any, bench: Bench, type_in: Type, in_pass: Callable[..., None]
) -> None:
    in_pass(2, lambda: bench.do("noise", bytes=20_000))
    done = type_in(live, "scan empty --rig {rig} --state strung")
    assert done.code == 0
    assert done.faults == []
    first, second, *_ = read_scan(live.scan("001-strung", "empty")).passes
    assert first.bad_frames < 40 < second.bad_frames
    assert second.good


def test_a_cable_pulled_in_the_middle_of_a_pass(
    live: Any, bench: Bench, type_in: Type, in_pass: Callable[..., None]
) -> None:
    in_pass(4, lambda: bench.do("pull"))
    try:
        done = type_in(live, "scan empty --rig {rig} --state strung")
    finally:
        bench.do("plug")
    journal = live.scan("001-strung", "empty").with_suffix(".journal")
    failed(done, "came loose", str(journal), f"`neckform recover {journal.parent}`")
    assert type_in(live, "recover").code == 0
    assert not journal.exists()
    scan = read_scan(live.scan("001-strung", "empty"))
    assert scan.end == "failed"
    assert [one.good for one in scan.passes] == [True, True, True, False]
    assert len(scan.passes[-1].samples) > 100
    tops = type_in(live, "tops empty --state strung")
    assert tops.code == 0
    assert len(tops.faults) == 1
    assert "found good passes over 2 of 5 lanes (the scan is failed: the cable" in tops.faults[0]
    after = type_in(live, "plan empty")
    assert after.code == 2


def test_a_carriage_that_stalls_in_the_middle_of_a_pass(
    live: Any, bench: Bench, type_in: Type, in_pass: Callable[..., None]
) -> None:
    in_pass(2, lambda: bench.do("stall"))
    done = type_in(live, "scan empty --rig {rig} --state strung")
    failed(done, "the carriage stalled", "nobody is there to do it", "`neckform recover")
    assert type_in(live, "recover").code == 0
    (first, second) = read_scan(live.scan("001-strung", "empty")).passes
    assert first.good
    assert not second.good
    assert "stalled" in second.why[0]


def test_a_stall_is_made_good_where_somebody_is_there(
    live: Any, bench: Bench, type_in: Type, in_pass: Callable[..., None]
) -> None:
    in_pass(2, lambda: bench.do("stall"))
    done = type_in(live, "scan empty --rig {rig} --state strung --yes")
    assert done.code == 0
    assert done.faults == []
    passes = read_scan(live.scan("001-strung", "empty")).passes
    assert [one.attempt for one in passes] == [1, 1, 2, *[1] * 8]
    assert [one.good for one in passes] == [True, False, *[True] * 9]


def test_two_scans_on_one_rig(live: Any, started: Callable[..., Any], type_in: Type) -> None:
    words = live.words("scan empty --rig {rig} --state unstrung")
    with started(words) as first:
        done = type_in(live, "scan empty --rig {rig} --state strung")
        still_on = first.poll() is None
    failed(done, f"is in use by process {first.pid} (neckform --workshop", "scan empty --rig")
    assert still_on
    # its owner was killed, and a lock dies with its process
    assert type_in(live, "rig check {rig}").code == 0
    assert type_in(live, "recover").code == 0
    assert live.scan("001-unstrung", "empty").exists()
