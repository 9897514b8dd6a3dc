"""What a daemon answers about its rig, and how its works go."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest

from daq.acquire.passes.lanes import PassPlan
from daq.daemon.work import RecordWork
from daq.record.notes import ScanBegin
from daq.record.scan import read_scan


def begun(client: httpx.Client, **work: Any) -> dict[str, Any]:
    answer = client.post("/v1/work", json=work)
    assert answer.status_code == 202, answer.text
    return answer.json()


def record(
    begin: ScanBegin, passes: tuple[PassPlan, ...], path: str = "a/001.h5"
) -> dict[str, Any]:
    return json.loads(RecordWork(begin=begin, passes=passes, path=path).model_dump_json())


def ended(bench: Any, client: httpx.Client, work: dict[str, Any]) -> dict[str, Any]:
    bench.until(lambda: bench.keeper.works.find(work["id"]).over, 20)
    return client.get(f"/v1/work/{work['id']}").json()


def test_which_rig_it_is(client: httpx.Client, rig_file: Any) -> None:
    rig = client.get("/v1/rig").json()
    assert (rig["name"], rig["rate_hz"], rig["travel_mm"]) == ("short-rail", 400, [0, 100])
    assert rig["text"] == rig_file.text


def test_the_state_of_a_rig_that_is_watched(client: httpx.Client) -> None:
    state = client.get("/v1/state").json()
    assert (state["state"], state["devices"], state["work"]) == ("watching", ["live-1"], None)


def test_health_of_a_rig_that_is_there(bench: Any, client: httpx.Client) -> None:
    bench.until(lambda: bench.keeper.watching.live.seen is not None)
    answer = client.get("/v1/health")
    health = answer.json()
    assert answer.status_code == 200
    assert health["fit"]
    assert health["links"] == {"rig": "live-1"}
    assert health["rate_hz"] == pytest.approx(400, rel=0.01)
    assert health["disk_free_bytes"] > health["disk_needed_bytes"] > 0
    assert {one["kind"]: one["state"] for one in health["calibrations"]}["rail"] == "missing"
    assert health["memory_bytes"] > 2**20


def test_a_recording_ends_as_a_scan_file(
    bench: Any, client: httpx.Client, begin: ScanBegin, passes: tuple[PassPlan, ...]
) -> None:
    work = begun(client, **record(begin, passes))
    assert ended(bench, client, work)["state"] == "done", bench.keeper.works.now
    result = client.get(f"/v1/work/{work['id']}/result").json()["result"]
    assert result == str(bench.root.resolve() / "a/001.h5")
    scan = read_scan(bench.root / "a/001.h5")
    assert [one.good for one in scan.passes] == [True, True]
    bench.until_state("watching")


def test_only_one_work_at_a_time(
    bench: Any, client: httpx.Client, begin: ScanBegin, passes: tuple[PassPlan, ...]
) -> None:
    bench.rig.holding = True
    work = begun(client, **record(begin, passes))
    second = client.post("/v1/work", json={"kind": "look", "device_s": 1})
    assert second.status_code == 409
    assert f"a recording ({work['id']})" in second.json()["message"]
    client.post(f"/v1/work/{work['id']}/cancel", json={})
    assert ended(bench, client, work)["state"] == "stopped"


def test_a_work_that_is_stopped_halts_the_rig_and_keeps_what_was_recorded(
    bench: Any, client: httpx.Client, begin: ScanBegin, passes: tuple[PassPlan, ...]
) -> None:
    work = begun(client, **record(begin, passes))
    bench.until(lambda: "M" in bench.rig.commands)
    bench.rig.holding = True
    bench.until(lambda: bench.rig.commands.count("M") >= 2)
    client.post(f"/v1/work/{work['id']}/cancel", json={})
    assert ended(bench, client, work)["state"] == "stopped"
    assert "K" in bench.rig.commands
    assert (bench.root / "a/001.journal").exists()
    assert client.get(f"/v1/work/{work['id']}/result").status_code == 409
    bench.until_state("watching")


def test_a_look_brings_samples(bench: Any, client: httpx.Client) -> None:
    work = begun(client, kind="look", device_s=0.5)
    assert ended(bench, client, work)["state"] == "done"
    result = client.get(f"/v1/work/{work['id']}/result").json()["result"]
    assert len(result["raw"]) >= 200
    assert set(result["raw"]) == {1500, 1501, 1502}


def test_a_rig_that_is_not_there_is_unfit_and_takes_no_work(make_bench: Any, live_rig: Any) -> None:
    live_rig.gone = True
    bench = make_bench(None)
    bench.until_state("gone")
    with httpx.Client(base_url=bench.url) as client:
        health = client.get("/v1/health")
        assert health.status_code == 503
        assert health.json()["faults"] == ["there is no port /dev/fake"]
        refused = client.post("/v1/work", json={"kind": "look", "device_s": 1})
        assert refused.status_code == 503
        assert refused.json() == {
            "kind": "RigError",
            "message": "the rig is not there: there is no port /dev/fake",
        }


def test_a_rig_that_comes_and_goes_is_told_and_found_again(bench: Any) -> None:
    opened = bench.rig.opened
    bench.rig.pulled = True
    bench.until_state("gone")
    assert "came loose" in bench.keeper.state.why
    bench.until_state("watching")
    assert bench.rig.opened == opened + 1
    assert "O" not in bench.rig.commands
    assert "M" not in bench.rig.commands
    assert bench.keeper.last_fault[1] == "the cable to /dev/fake came loose"


def test_a_rig_that_starts_anew_while_it_is_idle_is_greeted_again(bench: Any) -> None:
    from daq.wire.line import encode

    bench.rig.say(encode.event(0, "reset"))
    bench.until(lambda: bench.keeper.connections == 2)
    bench.until_state("watching")


def test_what_no_scan_has(client: httpx.Client) -> None:
    assert client.get("/v1/work/nothing").status_code == 404
    assert client.post("/v1/questions/nothing", json={"answer": "done"}).status_code == 409


@pytest.mark.parametrize(
    ("work", "said"),
    [
        ({"kind": "dance"}, "kind"),
        ({"kind": "look"}, "device_s"),
        ({"kind": "look", "device_s": 1, "more": 2}, "more"),
        ({"kind": "look", "device_s": -1}, "device_s"),
        ({"kind": "record", "path": "a.h5", "passes": []}, "passes"),
    ],
)
def test_a_work_that_makes_no_sense(client: httpx.Client, work: dict[str, Any], said: str) -> None:
    answer = client.post("/v1/work", json=work)
    assert answer.status_code == 422
    assert answer.json()["kind"] == "InputError"
    assert said in answer.json()["message"]


def test_every_path_is_described(client: httpx.Client) -> None:
    described = client.get("/v1/openapi.json").json()["paths"]
    for path, routes in described.items():
        assert path.startswith(("/v1/", "/page/")) or path == "/"
        assert all(route["summary"] for route in routes.values())
    assert "/v1/events" in described
    assert "/v1/work/{work_id}/cancel" in described


def test_what_a_stream_does_wrong_is_told_and_told_when_it_is_over(
    bench: Any, client: httpx.Client
) -> None:
    bench.rig.muted = True
    bench.until(lambda: bench.keeper.watching.faults != [])
    (fault,) = client.get("/v1/health").json()["stream_faults"]
    assert "the rig on /dev/fake" in fault
    bench.rig.muted = False
    bench.until(lambda: bench.keeper.watching.faults == [])
    with client.stream("GET", "/v1/events?live=false&after=0") as answer:
        kinds = [line for line in _lines_until(answer, "fault_over") if line.startswith("event")]
    assert kinds.index("event: fault") < kinds.index("event: fault_over")


def _lines_until(answer: httpx.Response, last: str) -> Any:
    for line in answer.iter_lines():
        yield line
        if last in line:
            return
