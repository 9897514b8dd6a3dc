"""An archive over a store that speaks S3, of another process, and over one that has gone.

Needs `pip install "moto[server]" s3fs`; left out where they are not installed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from daq.cli.main import main

from ..daq.archive.again.history import History, scan_both_states

moto: Any = pytest.importorskip("moto.server")
s3fs: Any = pytest.importorskip("s3fs")
pytestmark = [pytest.mark.campaign, pytest.mark.filterwarnings("default")]


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    server = moto.ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    host, port = server.get_host_and_port()
    for name, value in {
        "AWS_ENDPOINT_URL": f"http://{host}:{port}",
        "AWS_ACCESS_KEY_ID": "nobody",
        "AWS_SECRET_ACCESS_KEY": "nothing",
        "AWS_DEFAULT_REGION": "us-east-1",
        "AWS_MAX_ATTEMPTS": "1",
    }.items():
        monkeypatch.setenv(name, value)
    s3fs.S3FileSystem.clear_instance_cache()
    yield server
    s3fs.S3FileSystem.clear_instance_cache()
    server.stop()


def test_a_bucket_is_read_as_a_folder_is(
    server: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    real = tmp_path / "real"
    real.mkdir()
    scan_both_states(real)
    history = History(tmp_path / "benches", real)
    for number, state in ((1, "strung"), (2, "unstrung")):
        history.scan(number, state)
    store = s3fs.S3FileSystem()
    store.mkdir("neckform-test")
    store.put(str(history.root), "neckform-test/50% of #1", recursive=True)
    capsys.readouterr()

    def answer(line: str, *words: str) -> tuple[int, Any]:
        code = main(["--workshop", str(tmp_path), "archive", *line.split(), *words, "--json"])
        return code, json.loads(capsys.readouterr().out)

    place = "s3://neckform-test/50% of #1"
    for where in (str(history.root), place):
        code, indexed = answer("index", where)
        assert (code, indexed["scans"], indexed["faults"]) == (0, 2, {})
    _, indexed = answer("index", place)
    assert (indexed["opened"], indexed["gone"]) == (0, 0)
    code, again = answer("again --workers 2", place)
    assert (code, again["read"], again["duplicates"]) == (0, 0, 2)
    # the folder's own are taken out: what is in the bucket is read now
    for path in history.root.rglob("*.h5"):
        path.unlink()
    answer("index", str(tmp_path))
    code, again = answer("again --workers 2", f"{place}/")
    assert (code, again["read"]) == (0, 2)
    _, before = answer("find", "neckform-test")
    assert before["count"] == 2

    server.stop()
    s3fs.S3FileSystem.clear_instance_cache()
    code, indexed = answer("index", place)
    assert (code, indexed["gone"]) == (3, 0)
    assert "no such folder" not in indexed["not_listed"][0]["why"]
    _, after = answer("find", "neckform-test")
    assert after == before
