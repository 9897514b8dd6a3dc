"""A whole job by the daemon's HTTP alone, as its page has it: scans, plan, file, scan, check."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from daq.record.scan import read_scan

PROGRAM = "from daq.cli.main import run; run()"
Event = tuple[str, dict[str, Any]]


class Page:
    """What a page does. root: the daemon's workshop, only to look at what it has written."""

    def __init__(self, url: str, root: Path) -> None:
        self.root = root
        self._client = httpx.Client(base_url=url, timeout=60)

    def get(self, path: str) -> Any:
        return self._told(self._client.get(f"/v1/{path}"))

    def post(self, path: str, **body: Any) -> Any:
        return self._told(self._client.post(f"/v1/{path}", json=body))

    def order(self, do: str, **details: Any) -> Any:
        return self.post("simulated", do=do, **details)

    def events(self, after: int) -> Iterator[Event]:
        url = f"/v1/events?after={after}&live=false"
        kind = ""
        with self._client.stream("GET", url) as answer:
            for line in answer.iter_lines():
                if line.startswith("event: "):
                    kind = line.removeprefix("event: ")
                elif line.startswith("data: "):
                    yield kind, json.loads(line.removeprefix("data: "))

    def until_watched(self) -> None:
        assert any(kind == "rig" and told["state"] == "watching" for kind, told in self.events(0))

    def work(self, hear: Callable[[str, dict[str, Any]], None], **asked: Any) -> list[Event]:
        """A work from its request to its end; every question is answered with done, once `hear`
        has heard of it. All that was told of it."""
        work = self.post("work", **asked)
        heard: list[Event] = []
        for kind, told in self.events(work["event"]):
            heard.append((kind, told))
            hear(kind, told)
            if kind == "question":
                self.post(f"questions/{told['id']}", answer="done")
            elif kind == "work_ended":
                break
        assert told["state"] == "done", told["why"]
        self.result = self.get(f"work/{work['id']}/result")["result"]
        return heard

    def scan(self, job: str, state: str, name: str, **more: Any) -> None:
        """It is there, and all of it good."""
        heard = self.work(lambda *_: None, kind="scan", job=job, state=state, **more)
        questions = [told["text"] for kind, told in heard if kind == "question"]
        assert len(questions) == 1
        assert "The carriage is about to move" in questions[0]
        assert questions[0].endswith("Go on?")
        assert self.result["caution"] is None
        path = self.root / "jobs" / job / "scans" / name
        assert self.result["path"] == str(path)
        passes = read_scan(path).passes
        assert [one.good for one in passes] == [True] * (10 if state == "strung" else 22)

    def next(self, job: str) -> str:
        return str(self.get(f"jobs/{job}")["next"]["do"])

    def close(self) -> None:
        self._client.close()

    def _told(self, answer: httpx.Response) -> Any:
        assert answer.status_code < 300, answer.text
        return answer.json()


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Of a daemon with a simulated rig fifty times as fast as steel; it ends in good order."""
    root = tmp_path_factory.mktemp("over_http").resolve() / "workshop"
    words = ["--simulate", "--seed", "5", "--pace", "50", "--port", "0"]
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, "--workshop", str(root), "serve", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    with process:
        try:
            assert process.stdout is not None
            assert process.stderr is not None
            page = Page(process.stdout.readline().split(" at ")[1].strip(), root)
            page.until_watched()
            yield page
            page.close()
            process.send_signal(signal.SIGTERM)
            assert process.wait(15) == 0
            told = [json.loads(line) for line in process.stderr.read().splitlines()]
            assert [one for one in told if one["level"] == "ERROR"] == []
        finally:
            process.kill()


@pytest.mark.campaign  # everyday the same job is done by clicks, in tests/browser
def test_a_job_from_the_scan_to_the_report(page: Page) -> None:
    simulated = page.get("simulated")
    assert (simulated["on_the_rig"], simulated["state"]) == ("neck", "strung")
    page.post("jobs", name="parlour", instrument=simulated["instrument"])
    assert page.next("parlour") == "scan strung"
    page.scan("parlour", "strung", "001-strung.h5")
    page.order("strings", on=False)
    page.scan("parlour", "unstrung", "002-unstrung-as-it-came.h5", label="as it came")
    plan = page.post("jobs/parlour/plans")["document"]
    assert plan["feasible"]
    assert plan["cuts"]
    page.order("file", job="parlour")
    assert page.next("parlour") in ("file", "scan after")
    page.scan("parlour", "unstrung", "003-unstrung-filed.h5", label="filed")
    turns = plan["rod"]["turns"] * (1 if plan["rod"]["direction"] == "tighten" else -1)
    page.order("rod", turns=turns)
    assert page.order("strings", on=True)["state"] == "strung"
    page.scan("parlour", "strung", "004-strung.h5", rod_turns=turns)
    check = page.post("jobs/parlour/checks")["document"]
    assert check["plan"]
    told = page.get("jobs/parlour")
    assert [one["state"] for one in told["scans"]] == ["strung", "unstrung", "unstrung", "strung"]
    assert told["scans"][3]["rod_turns"] == pytest.approx(turns)
    assert (len(told["plans"]), len(told["checks"])) == (1, 1)


@pytest.mark.campaign
def test_the_cable_is_pulled_in_the_middle_of_a_scan(page: Page) -> None:
    page.post("jobs", name="pulled", instrument=page.get("simulated")["instrument"])
    page.order("lay", what="neck")
    page.order("strings", on=True)
    passes_ended, pulled = 0, list[Any]()

    def hear(kind: str, told: dict[str, Any]) -> None:
        nonlocal passes_ended
        step = told.get("step")
        passes_ended += step == "pass_ended"
        if kind == "question" and "Plug it in again" in told["text"]:
            page.order("cable", plugged=True)
        elif step == "samples" and passes_ended == 3 and told["with"]["count"] > 400 and not pulled:
            pulled.append(page.order("cable", plugged=False))

    heard = page.work(hear, kind="scan", job="pulled", state="strung")
    questions = [told["text"] for kind, told in heard if kind == "question"]
    assert len(questions) == 3
    assert questions[1].endswith("Plug it in again")
    assert questions[2].endswith("it homes and repeats the pass")
    passes = read_scan(Path(page.result["path"])).passes
    spoilt = [one.number for one in passes if not one.good]
    assert spoilt == [4]
    assert sum(one.good for one in passes) == 10
    assert page.result["caution"] is None
    assert page.get("simulated")["cable"] == "in"
