"""A whole step as a work of the daemon: it asks first, and ends as its command would."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import httpx
import pytest

from daq.files.instrument import parse_instrument
from daq.files.rig import RigFile, parse_rig
from daq.link.faults import LinkLost
from daq.record.scan import read_scan
from daq.text.cautions import DEFER, caution_before_motion, caution_rod
from daq.workshop.job import Job
from daq.workshop.place import Workshop

RIG = """\
name: short-rail
links:
  rig: {port: /dev/fake, baud: 460800, protocol: line}
carriage: {link: rig, drive: motor, mm_per_count: 0.005, travel_mm: [0, 160], speed_mm_s: 25}
sensor: {link: rig, kind: contact, mm_per_count: 0.001, rate_hz: 400, tip_radius_mm: 1.0}
pads:
  - {from_mm: 4, to_mm: 16}
  - {from_mm: 140, to_mm: 154}
"""
INSTRUMENT = """\
name: toy
scale_mm: 200
frets: 12
body_joint_fret: 10
board: {radius_mm: 200, width_mm: [30, 36]}
nut_at_mm: 20
strings:
  - {note: E4, gauge_in: 0.010}
  - {note: B3, gauge_in: 0.013}
  - {note: G3, gauge_in: 0.017}
spacing_mm: [9, 10]
action_mm: {1: 1.5, 3: 1.7}
nut_gap_mm: {1: 0.4, 3: 0.5}
"""
SCAN = {"kind": "scan", "job": "toy", "state": "strung"}


@pytest.fixture
def rig_file() -> RigFile:
    """Long enough for a very small neck; a person sets its cross slide."""
    return parse_rig(RIG, "rig.yaml")


@pytest.fixture
def job(bench: Any) -> Job:
    return Workshop(bench.root).new_job("toy", parse_instrument(INSTRUMENT, "toy.yaml"))


def begun(client: httpx.Client, **work: Any) -> dict[str, Any]:
    answer = client.post("/v1/work", json=work)
    assert answer.status_code == 202, answer.text
    return answer.json()


def asked(bench: Any, client: httpx.Client, work: dict[str, Any]) -> dict[str, Any]:
    """The question it waits at."""
    bench.until(lambda: bench.keeper.works.find(work["id"]).question is not None, 20)
    return client.get(f"/v1/work/{work['id']}").json()["question"]


def answer(client: httpx.Client, question: dict[str, Any], word: str) -> None:
    assert client.post(f"/v1/questions/{question['id']}", json={"answer": word}).status_code == 200


def said_done(bench: Any, client: httpx.Client, work: dict[str, Any], times: int = 1) -> None:
    """So many of its questions are answered with done, and it goes on."""
    running = bench.keeper.works.find(work["id"])
    for _ in range(times):
        question = asked(bench, client, work)
        answer(client, question, "done")
        bench.until(
            lambda over=question["id"]: not (running.question and running.question.id == over)
        )


def ended(bench: Any, client: httpx.Client, work: dict[str, Any]) -> dict[str, Any]:
    """How it ended, whatever it asks answered with done."""
    running = bench.keeper.works.find(work["id"])
    while not running.over:
        bench.until(lambda: running.over or running.question is not None, 20)
        question = running.question
        if question is not None:
            client.post(f"/v1/questions/{question.id}", json={"answer": "done"})
            bench.until(lambda waiting=question: running.question is not waiting)
    return client.get(f"/v1/work/{work['id']}").json()


def result(client: httpx.Client, work: dict[str, Any]) -> httpx.Response:
    return client.get(f"/v1/work/{work['id']}/result")


def told(bench: Any, kind: str) -> list[Any]:
    """What was said of one kind of event."""
    with bench.hub.subscribed(lambda: None, after=0, live=False) as listening:
        return [json.loads(event.data) for event in listening.take() if event.kind == kind]


def moved(bench: Any) -> bool:
    return bool({"M", "O"} & set(bench.rig.commands))


def test_it_asks_first_and_the_rig_is_watched_until_it_is_answered(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN)
    question = asked(bench, client, work)
    text = question["text"]
    assert text.startswith(
        "The neck of toy lies on the rig, strung; its rod stands as it was when the job was opened."
    )
    assert caution_before_motion().removesuffix(DEFER) in text
    assert "Strings are under tension" in text
    assert text.endswith(f"{DEFER} Go on?")
    assert text.count(DEFER) == 1
    state = client.get("/v1/state").json()
    assert (state["state"], state["work"]["state"]) == ("watching", "waiting")
    samples, begun_streams = (
        client.get("/v1/health").json()["samples"],
        bench.rig.commands.count("G"),
    )
    bench.until(lambda: client.get("/v1/health").json()["samples"] > samples)
    assert bench.rig.commands.count("G") == begun_streams
    assert not moved(bench)
    assert told(bench, "work_began") == []
    answer(client, question, "done")
    assert ended(bench, client, work)["state"] == "done"
    assert moved(bench)


def test_its_result_is_the_scan_of_the_job_and_what_to_know_of_it(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN, label="as it came", rod_turns=0.25)
    assert ended(bench, client, work)["state"] == "done"
    found = result(client, work).json()["result"]
    path = job.scans_folder / "001-strung-as-it-came.h5"
    assert found["path"] == str(path)
    assert str(path) in found["caution"]  # a level surface is no neck
    assert found["rod"] == "The rod stands 0.25 turn tighter than when the job was opened."
    scan = read_scan(path)
    assert (scan.state, scan.job, scan.rod_turns) == ("strung", "toy", 0.25)
    assert [one.good for one in scan.passes] == [True] * 4
    assert told(bench, "job") == [{"job": "toy", "why": "scan"}]


def test_a_rod_that_was_turned_is_cautioned_of_without_strings_too(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    off = {**SCAN, "state": "unstrung"}
    work = begun(client, **off)
    question = asked(bench, client, work)
    assert "truss rod" not in question["text"]
    answer(client, question, "stop")
    ended(bench, client, work)
    question = asked(bench, client, begun(client, **off, rod_turns=-0.25))
    assert "0.25 turn looser" in question["text"]
    assert caution_rod() in question["text"]


@pytest.mark.parametrize("word", ["stop", "nobody"])
def test_where_a_person_does_not_want_it_nothing_moves(
    bench: Any, client: httpx.Client, job: Job, word: str
) -> None:
    work = begun(client, **SCAN)
    answer(client, asked(bench, client, work), word)
    over = ended(bench, client, work)
    assert over["state"] == ("stopped" if word == "stop" else "failed")
    assert over["question"] is None
    if word == "nobody":
        said = "nobody said that the carriage may move; try again with somebody there"
        assert over["error"] == {"kind": "InputError", "message": said}
    assert not moved(bench)
    assert job.scans() == []
    assert told(bench, "job") == []
    assert len(told(bench, "answered")) == 1
    assert len(told(bench, "work_ended")) == 1


def test_nobody_for_an_hour_is_a_refusal_too(
    bench: Any, client: httpx.Client, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("daq.daemon.question.LONGEST_S", 0.3)
    work = begun(client, **SCAN)
    question = asked(bench, client, work)
    running = bench.keeper.works.find(work["id"])
    bench.until(lambda: running.over)
    assert (running.state, str(running.error)[:11]) == ("failed", "nobody said")
    late = client.post(f"/v1/questions/{question['id']}", json={"answer": "done"})
    assert late.status_code == 409
    assert not moved(bench)
    bench.until_state("watching")


def test_nobody_for_an_hour_in_the_middle_ends_it_and_keeps_what_was_recorded(
    bench: Any, client: httpx.Client, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second lane's cross slide is set by nobody."""
    work = begun(client, **SCAN)
    running = bench.keeper.works.find(work["id"])
    said_done(bench, client, work)  # it may begin
    asked(bench, client, work)
    monkeypatch.setattr("daq.daemon.question.LONGEST_S", 0.2)
    said_done(bench, client, work)  # the first lane
    bench.until(lambda: running.over, 20)
    assert running.state == "failed"
    message = result(client, work).json()["message"]
    assert "cross slide" in message
    assert "nobody is there to do it" in message
    assert "neckform recover" in message
    assert (job.scans_folder / "001-strung.journal").exists()
    assert "K" in bench.rig.commands


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"job": "none"}, "job none: found no such job in"),
        ({"job": "../up"}, "job name: found '../up'"),
        ({"rod_turns": 9.0}, "--rod: found 9; allowed -3 to 3"),
        ({"state": "slack"}, "'strung' or 'unstrung'"),
        ({"rod_turns": "much"}, "rod_turns"),
        ({"job": "long"}, "the pads of short-rail leave 16 to 140 mm"),
    ],
)
def test_what_speaks_against_it_is_told_at_once(
    bench: Any, client: httpx.Client, job: Job, change: dict[str, Any], said: str
) -> None:
    long = INSTRUMENT.replace("scale_mm: 200", "scale_mm: 640")
    Workshop(bench.root).new_job("long", parse_instrument(long, "long.yaml"))
    refused = client.post("/v1/work", json={**SCAN, **change})
    assert refused.status_code == 422
    assert refused.json()["kind"] == "InputError"
    assert said in refused.json()["message"]
    assert bench.keeper.works.now is None


def test_no_room_is_told_at_once(
    bench: Any, client: httpx.Client, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = shutil.disk_usage(bench.root)._replace(free=1_000)
    monkeypatch.setattr("daq.acquire.passes.space.shutil.disk_usage", lambda _: full)
    refused = client.post("/v1/work", json=SCAN)
    assert refused.status_code == 507
    assert "0.0 MB are free and the scan needs" in refused.json()["message"]


def test_one_that_waits_for_its_answer_is_the_one_work(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN)
    for other in (SCAN, {"kind": "look", "device_s": 1}):
        refused = client.post("/v1/work", json=other)
        assert refused.status_code == 409
        assert f"the rig is at work: a scan ({work['id']})" in refused.json()["message"]
    client.post(f"/v1/work/{work['id']}/cancel", json={})
    assert ended(bench, client, work)["state"] == "stopped"
    assert not moved(bench)


def test_a_rig_that_goes_while_it_is_asked_takes_the_question_with_it(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN)
    question = asked(bench, client, work)
    bench.rig.pulled = True
    running = bench.keeper.works.find(work["id"])
    bench.until(lambda: running.over)
    assert str(running.error) == "the rig went away before it began"
    late = client.post(f"/v1/questions/{question['id']}", json={"answer": "done"})
    assert late.status_code == 409
    bench.until_state("watching")
    assert not moved(bench)


@pytest.mark.parametrize("how", ["cancel", "stop"])
def test_stopped_in_the_middle_it_says_what_is_kept(
    bench: Any, client: httpx.Client, job: Job, how: str
) -> None:
    """By the page's stop, or at a question on the way."""
    work = begun(client, **SCAN)
    said_done(bench, client, work)
    question = asked(bench, client, work)
    if how == "stop":
        answer(client, question, "stop")
    else:
        bench.until(lambda: bench.rig.commands.count("O") == 1)
        bench.rig.holding = True
        answer(client, question, "done")
        moves = bench.rig.commands.count("M")
        bench.until(lambda: bench.rig.commands.count("M") > moves)
        client.post(f"/v1/work/{work['id']}/cancel", json={})
    over = ended(bench, client, work)
    assert over["state"] == "stopped"
    assert "stopped" in over["error"]["message"]
    assert "K" in bench.rig.commands
    assert job.scans() == []
    assert told(bench, "job") == []


def test_a_daemon_that_ends_in_the_middle_keeps_what_was_recorded(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN)
    running = bench.keeper.works.find(work["id"])
    said_done(bench, client, work, 2)  # it may begin; the first lane
    asked(bench, client, work)
    bench.stop()
    assert running.state == "stopped"
    assert "neckform recover" in str(running.error)
    assert (job.scans_folder / "001-strung.journal").exists()
    assert "K" in bench.rig.commands


def test_a_daemon_that_ends_while_it_asks_stops_it(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN)
    asked(bench, client, work)
    bench.stop()
    assert bench.keeper.works.find(work["id"]).state == "stopped"
    assert not moved(bench)


def test_a_cable_that_comes_loose_in_the_middle_is_asked_for(
    bench: Any, client: httpx.Client, job: Job
) -> None:
    work = begun(client, **SCAN)
    said_done(bench, client, work)
    question = asked(bench, client, work)
    read = bench.rig.read

    def comes_loose() -> bytes:
        bench.rig.read = read
        raise LinkLost("/dev/fake")

    bench.rig.read = comes_loose
    answer(client, question, "done")
    assert ended(bench, client, work)["state"] == "done"
    texts = [one["text"] for one in told(bench, "question")]
    assert any("Plug it in again" in text for text in texts)
    assert any("it homes and repeats the pass" in text for text in texts)
    good = [one.good for one in read_scan(job.scans_folder / "001-strung.h5").passes]
    assert good.count(True) == 4


@pytest.mark.parametrize("kind", ["calibrate lag", "calibrate rail"])
def test_a_calibration_that_finds_nothing_says_why_and_its_scan_is_kept(
    bench: Any, client: httpx.Client, kind: str
) -> None:
    """The toy's surface is level, and no straightedge lies so exactly."""
    work = begun(client, kind=kind)
    question = asked(bench, client, work)
    assert question["text"].endswith("Go on?")
    answer(client, question, "done")
    over = ended(bench, client, work)
    scans = list((bench.root / "calibrations/short-rail/scans").glob("*.h5"))
    assert len(scans) == 1
    if kind == "calibrate lag":
        assert over["state"] == "failed"
        assert result(client, work).status_code == 422
        assert "nothing was kept" in over["error"]["message"]
    else:
        found = result(client, work).json()["result"]
        assert found["document"]["method"]
        assert found["sentences"][0].startswith("The rail is mapped from")
        assert Path(found["document"]["file"]).exists()


def test_a_scan_that_a_command_makes_is_told_of_as_well(
    bench: Any, client: httpx.Client, begin: Any, passes: Any
) -> None:
    from dataclasses import replace

    from daq.daemon.work import RecordWork

    mine = replace(begin, purpose="scan", state="strung", job="toy")
    sent = RecordWork(begin=mine, passes=passes, path="jobs/toy/scans/001-strung.h5")
    work = begun(client, **json.loads(sent.model_dump_json()))
    assert ended(bench, client, work)["state"] == "done"
    assert told(bench, "job") == [{"job": "toy", "why": "scan"}]


def test_steel_has_nothing_to_order(client: httpx.Client) -> None:
    for answered in (
        client.get("/v1/simulated"),
        client.post("/v1/simulated", json={"do": "strings", "on": True}),
    ):
        assert answered.status_code == 404
        assert "no simulated one" in answered.json()["message"]
