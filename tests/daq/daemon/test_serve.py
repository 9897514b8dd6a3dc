"""`neckform serve` as a process: how it begins, and that it ends as it should."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest

from daq.acquire.passes.lanes import rail_passes
from daq.acquire.passes.progress import NoProgress
from daq.cli.main import main
from daq.daemon.finding import daemon_of
from daq.daemon.register import serving
from daq.errors import RigError
from daq.files.rig import load_rig
from daq.record.recover import recover

PROGRAM = "from daq.cli.main import run; run()"


@contextmanager
def served(workshop: Path, *words: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The daemon's process and its url; killed at the end, where it has not ended."""
    command = [sys.executable, "-c", PROGRAM, "--workshop", str(workshop), "serve", *words]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    with process:
        try:
            assert process.stdout is not None
            line = process.stdout.readline()
            assert line.startswith("serving "), process.stderr and process.stderr.read()
            yield process, line.split(" at ")[1].strip()
        finally:
            process.kill()


def until_watched(url: str) -> dict[str, Any]:
    with httpx.stream("GET", f"{url}v1/events?after=0&live=false", timeout=20) as answer:
        for line in answer.iter_lines():
            if line.startswith("data: ") and '"watching"' in line:
                break
    return dict(httpx.get(f"{url}v1/state").json())


def test_a_simulated_rig_is_served_and_let_go(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "logs/neckform.log"
    words = ("--simulate", "--seed", "4", "--port", "0", "--log", str(log))
    with served(tmp_path, *words) as (process, url):
        assert until_watched(url)["devices"] == ["sim-4"]
        rig = tmp_path / "simulated/rig.yaml"
        assert main(["serve", str(rig), "--port", "0"]) == 3
        assert f"served already, by process {process.pid} " in capfd.readouterr().err
        assert main(["--workshop", str(tmp_path), "rig", "check", str(rig), "--json"]) in (0, 1)
        checked = json.loads(capfd.readouterr().out)
        assert checked["rig"] == "simulated-rail"
        done = httpx.get(f"{url}v1/work").json()
        assert [(one["kind"], one["state"]) for one in done] == [("check", "done")]
        began_s = time.monotonic()
        process.send_signal(signal.SIGTERM)
        process.send_signal(signal.SIGTERM)  # an impatient second one changes nothing
        assert process.wait(10) == 0
        assert time.monotonic() - began_s < 5.0
        assert process.stderr is not None
        lines = process.stderr.read().splitlines()
    with pytest.raises(httpx.ConnectError):
        httpx.get(url)
    told = [json.loads(line) for line in lines]
    assert [json.loads(line) for line in log.read_text("utf-8").splitlines()] == told
    assert {one["what"] for one in told} >= {
        "serving",
        "rig_watching",
        "ending",
        "rig_ended",
        "ended",
    }
    assert all(one["at"] and one["level"] == "INFO" for one in told)
    assert serving(str(tmp_path / "simulated/ports/rig")) is None


def test_a_port_in_use_is_one_line(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        rig = rig_on(tmp_path, "/dev/none")
        assert main(["--workshop", str(tmp_path), "serve", rig, "--port", str(port)]) == 2
    assert capfd.readouterr().err == (
        f"neckform: --port {port}: found a port that another program listens on; allowed a free "
        "one, or 0 for any\n"
    )


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.7", "::"])
def test_elsewhere_only_with_a_token(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], host: str
) -> None:
    rig = rig_on(tmp_path, "/dev/none")
    assert main(["--workshop", str(tmp_path), "serve", rig, "--port", "0", "--host", host]) == 2
    assert "--token-file FILE only" in capfd.readouterr().err


def test_just_one_rig(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    for words in ([], ["a.yaml", "--simulate"], ["--simulate", "--replay", "a.h5"]):
        assert main(["--workshop", str(tmp_path), "serve", *words]) == 2
        assert "allowed one: RIG.yaml, --simulate or --replay SCAN.h5" in capfd.readouterr().err


def test_a_recording_that_is_none(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert main(["--workshop", str(tmp_path), "serve", "--replay", str(tmp_path / "a.h5")]) == 3
    assert "there is no such file" in capfd.readouterr().err


def test_a_daemon_waits_for_a_rig_that_is_not_there(tmp_path: Path) -> None:
    """A computer may be up before the rig is switched on."""
    with served(tmp_path, rig_on(tmp_path, "/dev/none"), "--port", "0") as (process, url):
        health = httpx.get(f"{url}v1/health")
        assert health.status_code == 503
        process.send_signal(signal.SIGINT)
        assert process.wait(10) == 0


def rig_on(folder: Path, port: str) -> str:
    path = folder / "rig.yaml"
    path.write_text(
        "name: r\n"
        f"links:\n  rig: {{port: {port}, baud: 115200, protocol: line}}\n"
        "carriage: {link: rig, drive: motor, mm_per_count: 0.005, travel_mm: [0, 100],"
        " speed_mm_s: 25}\n"
        "sensor: {link: rig, kind: contact, mm_per_count: 0.001, rate_hz: 400, tip_radius_mm: 1}\n"
        "pads:\n  - {from_mm: 4, to_mm: 16}\n  - {from_mm: 80, to_mm: 94}\n"
    )
    return str(path)


def test_a_daemon_killed_in_a_scan_is_one_line_and_loses_nothing_old(
    tmp_path: Path, begin: Any
) -> None:
    """The command says what is kept and how to get at it; the rig is free at once."""
    with served(tmp_path, "--simulate", "--seed", "5", "--port", "0") as (process, url):
        until_watched(url)
        rig_file = load_rig(tmp_path / "simulated/rig.yaml")
        rig = daemon_of(rig_file, tmp_path)
        assert rig is not None
        out = tmp_path / "scans/001.h5"

        class KillsIt(NoProgress):
            def samples(self, count: int, bad: int, lost: int, x_mm: float, rate_hz: float) -> None:
                if count > 400:
                    process.kill()

        kept = r"has ended or does not answer; what it recorded is kept in .*001\.journal"
        with pytest.raises(RigError, match=kept):
            rig.record(begin, rail_passes(rig_file), out, KillsIt(), print)
    assert serving(rig_file.used_links[0].port) is None
    (found,) = recover(tmp_path)
    assert found.scan is not None, found.why
    assert len(found.scan.passes[0].samples) > 300
