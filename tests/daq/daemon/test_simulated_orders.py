"""What a person does at a simulated rig, ordered over HTTP."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from daq.cli.main import main
from daq.daemon.faults import answer_faults
from daq.daemon.hands import FileFrets, Hands, Lay, Rod, Strings
from daq.daemon.http import listening_on, serving
from daq.daemon.hub import Hub
from daq.daemon.question import Question
from daq.daemon.simulated_routes import simulated_routes
from daq.daemon.work import LookWork
from daq.daemon.works import Works
from daq.demo.bench import Bench, software_rig
from daq.errors import InputError
from daq.files.instrument import parse_instrument
from daq.workshop.job import Job
from daq.workshop.place import Workshop

CUTS = [{"fret": 5, "string": 2, "remove_um": 40.0}, {"fret": 9, "string": 1, "remove_um": 30.0}]


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Bench, str]]:
    """Its instrument file beside it; a rig as fast as its bytes are taken."""
    folder = tmp_path_factory.mktemp("simulated")
    with software_rig(4) as bench:
        bench.do("files", folder=str(folder))
        yield bench, (folder / "instrument.yaml").read_text("utf-8")


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return Workshop(tmp_path)


@pytest.fixture
def hands(rig: tuple[Bench, str], workshop: Workshop) -> Hands:
    bench, instrument = rig
    bench.do("place", what="neck")
    bench.do("state", state="strung")
    return Hands(bench, workshop, instrument, 50.0)


@pytest.fixture
def works() -> Works:
    return Works(Hub())


@pytest.fixture
def client(hands: Hands, works: Works) -> Iterator[httpx.Client]:
    app = FastAPI()
    answer_faults(app)
    app.include_router(simulated_routes(works, hands), prefix="/v1")
    with (
        listening_on("127.0.0.1", 0) as door,
        serving(app, door, lambda: None),
        httpx.Client(base_url=f"http://127.0.0.1:{door.getsockname()[1]}", timeout=20) as client,
    ):
        yield client


@pytest.fixture
def job(workshop: Workshop, hands: Hands) -> Job:
    return workshop.new_job("neck", parse_instrument(hands.instrument, "instrument.yaml"))


def plan(job: Job, cuts: list[dict[str, Any]], name: str = "001.json") -> None:
    path = job.folder / "plans" / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps({"cuts": cuts}))


def removed_um(bench: Bench) -> list[list[float]]:
    found = bench.do("truth")["removed_um"]
    assert isinstance(found, list)
    return found


def test_it_begins_with_a_strung_neck_and_says_what_can_be_ordered(
    client: httpx.Client, hands: Hands
) -> None:
    now = client.get("/v1/simulated").json()
    stands = {name: now[name] for name in ("on_the_rig", "state", "rod_turns", "cable", "pace")}
    assert stands == {
        "on_the_rig": "neck",
        "state": "strung",
        "rod_turns": 0.0,
        "cable": "in",
        "pace": 50.0,
    }
    assert len(parse_instrument(now["instrument"], "instrument.yaml").strings) == 6
    assert all(one["words"] for one in now["orders"])
    assert {one["order"]["do"] for one in now["orders"]} == {
        "lay",
        "strings",
        "rod",
        "file",
        "cable",
    }


def test_every_order_it_offers_is_done_as_it_is_sent(
    client: httpx.Client, rig: tuple[Bench, str], job: Job
) -> None:
    plan(job, CUTS)
    for one in client.get("/v1/simulated").json()["orders"]:
        order = {**one["order"], **({"job": "neck"} if "job" in one["order"] else {})}
        answer = client.post("/v1/simulated", json=order)
        assert answer.status_code == 200, (one, answer.text)
    truth = rig[0].do("truth")
    assert (truth["what"], truth["state"]) == ("neck", "unstrung")
    assert answer.json()["cable"] == "in"


def test_what_is_ordered_is_done_and_remembered(
    client: httpx.Client, rig: tuple[Bench, str]
) -> None:
    before = rig[0].do("truth")["rod_turns"]
    for order in (
        {"do": "lay", "what": "straightedge"},
        {"do": "strings", "on": False},
        {"do": "rod", "turns": 0.25},
        {"do": "rod", "turns": -0.1},
    ):
        answer = client.post("/v1/simulated", json=order).json()
    assert (answer["on_the_rig"], answer["state"]) == ("straightedge", "unstrung")
    assert answer["rod_turns"] == pytest.approx(0.15)
    truth = rig[0].do("truth")
    assert (truth["what"], truth["state"]) == ("straightedge", "unstrung")
    assert truth["rod_turns"] - before == pytest.approx(0.15)


def test_the_frets_are_filed_as_a_plan_says_and_once(
    client: httpx.Client, rig: tuple[Bench, str], job: Job
) -> None:
    plan(job, CUTS)
    plan(job, [{"fret": 7, "string": 3, "remove_um": 50.0}], "002.json")
    client.post("/v1/simulated", json={"do": "strings", "on": False})
    before = removed_um(rig[0])
    assert client.post("/v1/simulated", json={"do": "file", "job": "neck"}).status_code == 200
    after = removed_um(rig[0])
    assert after[6][2] - before[6][2] == pytest.approx(0.88 * 50.0, abs=5.0)
    assert after[4][1] == before[4][1]
    first = {"do": "file", "job": "neck", "plan": "001.json"}
    assert client.post("/v1/simulated", json=first).status_code == 200
    assert removed_um(rig[0])[4][1] - before[4][1] == pytest.approx(0.88 * 40.0, abs=5.0)
    again = client.post("/v1/simulated", json=first)
    assert again.status_code == 422
    assert "the frets are filed by it already; scan them again" in again.json()["message"]
    assert removed_um(rig[0])[4][1] - before[4][1] < 45.0


def test_what_cannot_be_filed_is_told(client: httpx.Client, job: Job) -> None:
    def said(**order: Any) -> str:
        answer = client.post("/v1/simulated", json={"do": "file", "job": "neck", **order})
        assert answer.status_code == 422
        return str(answer.json()["message"])

    assert said() == "the strings are on; take them off before the frets are filed"
    client.post("/v1/simulated", json={"do": "strings", "on": False})
    assert said() == "job neck: found no such plan; the plans there are: none yet"
    plan(job, [])
    assert said().endswith("plans/001.json: found no cuts in it; there is nothing to file")
    assert "job neck: plan ../x: found no such plan; the plans there are: 001.json" in said(
        plan="../x"
    )
    assert "job other: found no such job" in said(job="other")


def test_a_damaged_plan_is_a_fault_of_its_file(client: httpx.Client, job: Job) -> None:
    plan(job, [])
    (job.folder / "plans/001.json").write_text("{")
    client.post("/v1/simulated", json={"do": "strings", "on": False})
    answer = client.post("/v1/simulated", json={"do": "file", "job": "neck"})
    assert answer.status_code == 507


@pytest.mark.parametrize(
    "order",
    [
        {"do": "truth"},
        {"do": "quit"},
        {"do": "lay", "what": "pin"},
        {"do": "lay", "what": "neck", "at_mm": 3},
        {"do": "rod", "turns": 5},
        {"do": "rod", "turns": "much"},
        {"do": "cable"},
        {"do": "file"},
        {},
    ],
)
def test_nothing_else_is_done(client: httpx.Client, order: dict[str, Any]) -> None:
    answer = client.post("/v1/simulated", json=order)
    assert answer.status_code == 422
    assert answer.json()["kind"] == "InputError"


def test_no_hand_is_at_the_neck_while_the_carriage_runs(client: httpx.Client, works: Works) -> None:
    strings = {"do": "strings", "on": False}
    question = Question("Go on?")
    work = works.give(LookWork(device_s=1.0), question)
    assert client.post("/v1/simulated", json=strings).status_code == 200
    question.answer("done")
    assert works.take() is work
    refused = client.post("/v1/simulated", json=strings)
    assert refused.status_code == 409
    assert f"the rig is at work: a look at the sensor ({work.id})" in refused.json()["message"]
    for plugged in (False, True):
        cable = {"do": "cable", "plugged": plugged}
        assert client.post("/v1/simulated", json=cable).status_code == 200
    twice = client.post("/v1/simulated", json={"do": "cable", "plugged": True})
    assert twice.json()["message"] == "the cable is in already"
    works.end(work, "done", [])
    assert client.post("/v1/simulated", json=strings).status_code == 200


def test_orders_of_many_at_once_are_done_one_after_the_other(
    hands: Hands, rig: tuple[Bench, str]
) -> None:
    """A line to the simulator and its answer are never another's."""
    before = rig[0].do("truth")["rod_turns"]
    failed: list[Exception] = []

    def order(number: int) -> None:
        try:
            for turn in range(10):
                hands.do(Rod(turns=0.01))
                hands.do(Lay(what="neck" if (turn + number) % 2 else "straightedge"))
                hands.do(Strings(on=bool(number % 2)))
        except Exception as error:
            failed.append(error)

    threads = [threading.Thread(target=order, args=(n,), daemon=True) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
        assert not thread.is_alive(), "it waits for an answer that another one took"
    assert failed == []
    truth = rig[0].do("truth")
    assert hands.stands.rod_turns == pytest.approx(0.6)
    assert truth["rod_turns"] - before == pytest.approx(0.6)
    assert (truth["what"], truth["state"]) == (hands.stands.on_the_rig, hands.stands.state)


def test_a_job_name_that_is_none(hands: Hands) -> None:
    hands.do(Strings(on=False))
    with pytest.raises(InputError, match="job name: found ''"):
        hands.do(FileFrets(job=""))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--simulate", "--pace", "0.5"], "--pace: found 0.5; allowed 1 to 50"),
        (["--simulate", "--pace", "51"], "--pace: found 51; allowed 1 to 50"),
        (["--simulate", "--pace", "nan"], "--pace: found nan; allowed 1 to 50"),
        (["--replay", "a.h5", "--pace", "2"], "--pace: found without --simulate"),
        (["rig.yaml", "--pace", "2"], "--pace: found without --simulate"),
    ],
)
def test_a_pace_that_makes_no_sense(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["--workshop", str(tmp_path), "serve", *words]) == 2
    assert said in capfd.readouterr().err
