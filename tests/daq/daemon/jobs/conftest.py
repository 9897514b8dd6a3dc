"""A finished job, made once by the demo; every test cuts a copy of it back to where it begins."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest

from daq.cli.main import main

from ....finished import finished_workshop, job_as_it_was, link_scans

NAME = "bench job"


@pytest.fixture(scope="session")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's workshop. Nobody writes here."""
    return finished_workshop(tmp_path_factory)


@dataclass(frozen=True)
class Served:
    """A daemon and a job in its workshop."""

    bench: Any
    client: httpx.Client
    folder: Path

    @property
    def path(self) -> str:
        return f"/v1/jobs/{NAME}"

    def get(self, path: str, **query: Any) -> httpx.Response:
        return self.client.get(f"{self.path}{path}", params=query)

    def post(self, what: str, body: Any = None) -> httpx.Response:
        return self.client.post(f"{self.path}{what}", json=body if body is not None else {})

    def move(self, change: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
        """The answer to fields moved."""
        answer = self.post("/asked", {"change": change or {}, **more})
        assert answer.status_code == 200, answer.text
        return dict(answer.json())

    def refused(self, change: Any, code: int = 422, **more: Any) -> str:
        """What is said against it."""
        answer = self.post("/asked", {"change": change, **more})
        assert answer.status_code == code, answer.text
        assert set(answer.json()) == {"kind", "message"}
        return str(answer.json()["message"])

    def asked(self) -> dict[str, Any]:
        return dict(self.get("/asked").json())

    def told(self, kind: str) -> list[dict[str, Any]]:
        """What the daemon has told of a kind and keeps."""
        with self.bench.hub.subscribed(lambda: None, after=0, live=False) as client:
            return [json.loads(event.data) for event in client.take() if event.kind == kind]


Serve = Callable[..., Served]


@pytest.fixture
def serve(bench: Any, finished: Path) -> Iterator[Serve]:
    """serve(stage): a daemon with a job that has come so far."""
    with httpx.Client(base_url=bench.url, timeout=60) as client:

        def make(stage: str) -> Served:
            folder = bench.root / "jobs" / NAME
            shutil.copytree(finished / "calibrations", bench.root / "calibrations",
                            copy_function=link_scans)  # fmt: skip
            job_as_it_was(finished, stage, folder)
            return Served(bench, client, folder)

        yield make


@pytest.fixture
def plan_in_terminal(capfd: pytest.CaptureFixture[str]) -> Callable[..., dict[str, Any]]:
    """neckform plan NAME --target FILE --json, in a workshop."""

    def plan(root: Path, asked: dict[str, Any], target: Path) -> dict[str, Any]:
        target.write_text(json.dumps(asked), encoding="utf-8")
        capfd.readouterr()
        code = main(["--workshop", str(root), "plan", NAME, "--target", str(target), "--json"])
        assert code in (0, 1)
        return dict(json.loads(capfd.readouterr().out))

    return plan
