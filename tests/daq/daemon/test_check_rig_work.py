"""The check of a rig as a work of the daemon: it asks first, and says what the terminal says."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest

from daq.daemon.stepping import first_question
from daq.daemon.work import CheckRigWork
from daq.files.rig import parse_rig
from daq.text.cautions import caution_before_motion
from daq.workshop.place import Workshop

from .conftest import RIG_TEXT


def begun(client: httpx.Client, **work: Any) -> dict[str, Any]:
    answer = client.post("/v1/work", json={"kind": "check rig", **work})
    assert answer.status_code == 202, answer.text
    return answer.json()


def answered(bench: Any, client: httpx.Client, work: dict[str, Any], word: str) -> dict[str, Any]:
    """How it ended, its one question answered so."""
    running = bench.keeper.works.find(work["id"])
    bench.until(lambda: running.question is not None)
    client.post(f"/v1/questions/{running.question.id}", json={"answer": word})
    bench.until(lambda: running.over, 20)
    return client.get(f"/v1/work/{work['id']}").json()


def test_it_asks_then_drives_and_says_what_it_found(bench: Any, client: httpx.Client) -> None:
    work = begun(client, still_s=2)
    text = work["question"]["text"]
    assert text.startswith("The rig stands still for 2 s: do not touch it. Then the carriage goes")
    assert caution_before_motion().partition(" Local")[0] in text
    assert text.endswith("Go on?")
    assert not {"M", "O"} & set(bench.rig.commands)
    assert answered(bench, client, work, "done")["state"] == "done"
    assert bench.rig.commands.count("O") == 1
    found = client.get(f"/v1/work/{work['id']}/result").json()["result"]
    said, document = found["sentences"], found["document"]
    assert document["fit"] is False  # the toy is level: only driving shows that it has no pads
    assert said[0].startswith(f"short-rail is not fit to scan: {document['status']}")
    assert "pad" in document["status"]
    assert "live-1, up to 1000 Hz" in said


def test_a_question_names_the_kind_of_its_work(bench: Any, client: httpx.Client) -> None:
    work = begun(client)
    with bench.hub.subscribed(lambda: None, after=0, live=False) as listening:
        told = [json.loads(one.data) for one in listening.take() if one.kind == "question"]
    assert [(one["work"], one["kind"]) for one in told] == [(work["id"], "check rig")]
    assert "stands still for 20 s" in work["question"]["text"]
    assert answered(bench, client, work, "stop")["state"] == "stopped"
    assert not {"M", "O"} & set(bench.rig.commands)


def test_a_carriage_pushed_by_hand_stays_and_nobody_is_asked(tmp_path: Any) -> None:
    by_hand = parse_rig(RIG_TEXT.replace("drive: motor", "drive: hand"), "rig.yaml")
    assert first_question(CheckRigWork(), by_hand, Workshop(tmp_path)) is None


def test_a_look_too_short_is_refused(client: httpx.Client) -> None:
    refused = client.post("/v1/work", json={"kind": "check rig", "still_s": 1})
    assert refused.status_code == 422


@pytest.mark.parametrize("kind", ["check", "over_pads"])
def test_its_parts_asked_for_by_a_command_ask_nobody(
    bench: Any, client: httpx.Client, kind: str
) -> None:
    given = {"still_s": 2} if kind == "check" else {}
    work = client.post("/v1/work", json={"kind": kind, **given}).json()
    assert work["question"] is None
    running = bench.keeper.works.find(work["id"])
    bench.until(lambda: running.over, 20)
    assert running.state == "done"
