"""A control moved: the plan for it at once, as the command would make it."""

from __future__ import annotations

import json
import re
import threading
import xml.etree.ElementTree as ET
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from daq.daemon.jobs import kept
from daq.figures.neckmap import LAYERS

from .conftest import NAME, Serve

MOVED_MM = (0.05, 0.1, 0.2)
TARGETS: dict[str, dict[str, Any]] = {
    "as it begins": {},
    "the rod set": {"rod": 0.1},
    "held and softer": {"hold.fret.3": True, "hold.string.6": True, "pluck_force_n": 0.4},
    "a shape": {"shape.hollow_um": 60, "shape.from_off_um": 10, "shape.to_off_um": -5},
    "kept": {"rod": "keep", "nut": "keep", "guard": 1.0},
    "saddles set": {"saddle.1": 0.3, "saddle.2": 0.3, "action.first_mm": 2.4, "guard": 1.0},
    "no bends": {"player": "gentle", "bend_semitones": 0, "pluck_from_saddle_mm": 100},
    "too much": {"pluck_force_n": 0.9, "saddles": "keep"},
}
EVERYDAY = ("as it begins", "held and softer", "a shape", "too much")


@pytest.mark.parametrize(
    "name",
    [
        name if name in EVERYDAY else pytest.param(name, marks=pytest.mark.campaign)
        for name in TARGETS
    ],
)
def test_what_is_tried_is_what_the_command_plans(
    serve: Serve, plan_in_terminal: Callable[..., dict[str, Any]], name: str, tmp_path: Any
) -> None:
    served = serve("scanned")
    for path, value in TARGETS[name].items():  # one by one: the solver goes on from each
        tried = served.move({path: value})
    tried = served.move()
    document = plan_in_terminal(served.bench.root, tried["asked"], tmp_path / "target.json")
    assert same(tried, document) == []
    assert tried["feasible"] == (name != "too much")


def same(tried: dict[str, Any], document: dict[str, Any]) -> list[str]:
    """The names of what differs."""
    wanted = {
        "feasible": document["feasible"],
        "metal_um": document["metal"]["planned_um_total"],
        "level_um": document["metal"]["level_um_total"],
        "rod": {key: document["rod"][key] for key in ("turns", "direction", "relief_change_mm")},
        "asked": document["target"],
        "shape_short": document["shape_short"],
        **{key: document[key] for key in ("saddles", "nut", "action")},
    }
    differs = [key for key, value in wanted.items() if tried[key] != value]
    places = {(c["string"], c["fretted"]) for c in document["margins"]}
    differs += [] if sum(tried["tally"].values()) == len(places) else ["tally"]
    short: dict[Any, float] = {}
    for one in document["short"]:
        key = (one["string"], one["fretted"], one["bend"])
        short[key] = max(short.get(key, 0.0), one["short_mm"])
    told = {(c["string"], c["fretted"], c["bend"]): c["short_mm"] for c in tried["short"]}
    return differs + ([] if told == short else ["short"])


def test_a_plan_kept_is_the_command_s_own(
    serve: Serve, plan_in_terminal: Callable[..., dict[str, Any]], tmp_path: Any
) -> None:
    served = serve("scanned")
    tried = served.move({"pluck_force_n": 0.45, "hold.fret.2": True, "rod": 0.05})
    target = tmp_path / "target.json"
    typed = plan_in_terminal(served.bench.root, tried["asked"], target)
    (served.folder / "plans/001.json").unlink()
    body = {"tool": "file", "metal": "nickel silver", "beam_mm": None, "prop": False}
    answer = served.post("/plans", body)
    assert answer.status_code == 201
    kept_plan = answer.json()
    document = kept_plan["document"]
    assert {**document, "made": ""} == {**typed, "made": ""}
    assert kept_plan["file"] == "001.json"
    assert document == json.loads((served.folder / "plans/001.json").read_text("utf-8"))
    assert same(tried, document) == []
    words = kept_plan["command"].split()
    assert words[0] == "neckform"
    stored = json.loads((served.folder / "targets/001.json").read_text("utf-8"))
    assert stored == tried["asked"]
    assert served.told("job") == [{"job": NAME, "why": "plan"}]


def test_what_was_kept_is_asked_when_the_daemon_begins(serve: Serve) -> None:
    served = serve("planned")
    plan = served.folder / "plans/001.json"
    document = json.loads(plan.read_text("utf-8"))
    document["target"]["rod"] = 0.125
    plan.write_text(json.dumps(document))
    now = served.asked()
    assert (now["asked"]["rod"], now["revision"]) == (0.125, 0)


def test_what_can_be_asked(serve: Serve) -> None:
    now = serve("empty").asked()
    assert now["players"] == ["gentle", "everyday", "hard"]
    assert now["asked"]["playing"]["name"] == "everyday"
    assert now["ranges"]["guard"] == [0, 4, 0.1]
    assert now["ranges"]["saddle.6"] == [-1, 1.5, 0.01]
    assert "saddle.7" not in now["ranges"]


def test_a_job_that_is_not_scanned_is_not_planned_for(serve: Serve) -> None:
    message = serve("strung").refused({"guard": 1.0})
    assert "found no unstrung scan" in message


REFUSED: list[tuple[Any, str]] = [
    ({"change": {"guard": 1.0, "pluck_force_n": 99}}, "pluck force: found 99; allowed"),
    ({"change": {"guard": 1.0, "saddle.9": 0.1}}, "saddle, string 9: found no such string"),
    ({"change": {"guard": 1.0, "garden": 1}}, "found text 'garden'"),
    ({"change": {"guard": "much"}}, "guard: found text 'much'; allowed a number from 0 to 4"),
    ({"change": {"guard": 1.0, "pluck_force_n": 2.0}}, "highest action: found"),
    ({"change": {"guard": 1.0}, "show": {"string": 7}}, "show: found string 7; allowed"),
    ({"change": {"guard": 1.0}, "show": {"fretted": 22}}, "held at fret 22; allowed 0 (open)"),
    ({"change": {"guard": 1.0}, "show": {"frets": [5, 2]}}, "found frets 5 to 2; allowed"),
    ({"change": {"guard": 1.0}, "show": {"layer": "sky"}}, "show.layer"),
    ({"change": {"guard": 1.0}, "all": {}}, "either change or all"),
    ({"all": {"playing": "hard", "rod": "loose"}}, "rod: found text 'loose'; allowed free"),
    ({"change": {"guard": 1.0}, "more": 1}, "more"),
    ({"change": [1]}, "change"),
    ([], "body"),
]


def test_a_refused_move_changes_nothing(serve: Serve) -> None:
    served = serve("scanned")
    before = served.move({"guard": 1.5})
    for body, said in REFUSED:
        answer = served.post("/asked", body)
        assert answer.status_code == 422, body
        assert answer.json()["kind"] == "InputError"
        assert said in answer.json()["message"]
    after = served.asked()
    assert (after["asked"], after["revision"]) == (before["asked"], before["revision"])


def test_no_number_is_refused_even_as_json_has_none(serve: Serve) -> None:
    served = serve("scanned")
    for value in ("NaN", "Infinity", "-Infinity", "1e999"):
        answer = served.client.post(
            f"{served.path}/asked",
            content=f'{{"change": {{"guard": {value}}}}}',
            headers={"content-type": "application/json"},
        )
        assert answer.status_code == 422
        assert answer.json()["message"].startswith("guard: found ")
    assert served.asked()["revision"] == 0


def test_everything_is_asked_at_once_and_by_name(serve: Serve) -> None:
    served = serve("scanned")
    before = served.move({"rod": 0.1})["asked"]
    answer = served.move(all={"playing": "gentle"})
    assert answer["asked"]["playing"]["name"] == "gentle"
    assert answer["asked"]["rod"] == "free"
    assert served.move(all=before)["asked"] == before


def test_only_looking_asks_for_nothing(serve: Serve) -> None:
    served = serve("scanned")
    first = served.move({"guard": 1.5}, tab="one")
    for layer in LAYERS:
        looked = served.move({}, tab="two", show={"layer": layer, "string": 4, "fretted": 5})
        assert looked["revision"] == first["revision"]
        assert looked["metal_um"] == first["metal_um"]
        assert {**looked["map"], "svg": ""} != {**first["map"], "svg": ""} or layer == "room"
        for picture in (looked["map"], looked["section"]):
            drawn = ET.fromstring(picture["svg"])
            assert drawn.tag == "svg"
            assert picture["title"]
        cells = re.findall(r'data-fret="(\d+)" data-string="(\d+)"', looked["map"]["svg"])
        assert len(set(cells)) == 22 * 6
    near = served.move({}, show={"string": 4, "near": True})
    assert near["section"] != looked["section"]


def test_the_answer_is_what_its_description_says(serve: Serve) -> None:
    from daq.daemon.jobs.tried import TriedAnswer

    served = serve("scanned")
    for change in ({}, {"pluck_force_n": 0.9, "saddles": "keep"}, {"shape.hollow_um": 400}):
        answer = served.move(change)
        assert set(answer) == set(TriedAnswer.model_fields)
        TriedAnswer.model_validate(answer)
        assert answer["took_ms"] > 0


def test_two_windows_hear_of_one_another(serve: Serve) -> None:
    served = serve("scanned")
    with served.bench.hub.subscribed(lambda: None, after=None, live=False) as hearing:
        served.move({"guard": 1.5}, tab="left")
        served.move({"pluck_force_n": 0.4}, tab="right")
        served.move({"guard": 1.5}, tab="left")  # as it is: nothing was moved
        told = [json.loads(one.data) for one in hearing.take() if one.kind == "asked"]
    assert told == [
        {"job": NAME, "revision": 1, "tab": "left"},
        {"job": NAME, "revision": 2, "tab": "right"},
    ]
    playing = served.asked()["asked"]["playing"]
    assert (playing["guard"], playing["pluck_force_n"]) == (1.5, 0.4)


def test_fields_moved_at_once_by_two_are_none_of_them_lost(serve: Serve) -> None:
    """Each moves fields of its own, and both the same one: the last mover has it."""
    served = serve("scanned")
    served.move()
    together = threading.Barrier(2)
    turns = {"left": [0.1, 0.2, 0.3], "right": [0.15, 0.25, 0.35]}

    def move(tab: str, string: int) -> list[dict[str, Any]]:
        together.wait(30)
        return [
            served.move({f"saddle.{string + n}": MOVED_MM[n], "rod": turn}, tab=tab)
            for n, turn in enumerate(turns[tab])
        ]

    with ThreadPoolExecutor(2) as both:
        found = [both.submit(move, "left", 1), both.submit(move, "right", 4)]
        answers = [answer for one in found for answer in one.result(60)]
    now = served.asked()
    assert now["revision"] == 6
    assert now["asked"]["saddles"] == {
        "1": 0.05, "2": 0.1, "3": 0.2, "4": 0.05, "5": 0.1, "6": 0.2,
    }  # fmt: skip
    assert sorted(answer["revision"] for answer in answers) == [1, 2, 3, 4, 5, 6]
    last = max(answers, key=lambda answer: answer["revision"])
    assert last["asked"] == now["asked"]
    assert now["asked"]["rod"] in (0.3, 0.35)


def test_why_it_cannot_be_and_what_would_cure_it(serve: Serve) -> None:
    served = serve("scanned")
    assert served.post("/why").json()["cures"] == []
    served.move({"pluck_force_n": 0.9, "saddles": "keep"})
    why = served.post("/why").json()
    assert why["sentences"]
    assert why["cures"]
    assert why["cures"][-1].startswith("Play softer, ")


def test_an_instrument_file_edited_meanwhile_is_read_anew(serve: Serve) -> None:
    served = serve("scanned")
    before = served.move({"saddle.2": 0.1, "nut.1": -0.2})
    path = served.folder / "instrument.yaml"
    text = path.read_text("utf-8")
    path.write_text(
        re.sub(r"nut_gap_mm:.*", "nut_gap_mm: {1: 0.2, 6: 0.2}", text), encoding="utf-8"
    )
    after = served.move()
    assert after["asked"]["saddles"] == {"2": 0.1}
    assert after["asked"]["nut"] == "free"
    assert after["revision"] == before["revision"] + 1
    assert (
        "No longer asked, for the instrument's file changed: the nut slot of string 1"
        in (after["sentences"][0])
    )
    assert served.asked()["ranges"]["nut.1"][0] == -0.05
    assert "No longer asked" not in served.move({"guard": 1.5})["sentences"][0]
    path.write_text("frets: many\n")
    assert "frets: found text 'many'" in served.refused({"guard": 1.0})


def test_a_neck_is_read_again_only_where_something_changed(
    serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    reads: list[str] = []
    reading = kept.neck_on_bench

    def counted(reader: Any) -> Any:
        reads.append(reader.job.name)
        return reading(reader)

    monkeypatch.setattr(kept, "neck_on_bench", counted)
    served = serve("filed")
    for guard in (1.0, 1.1, 1.2):
        served.move({"guard": guard})
    assert len(reads) == 1
    (served.folder / "scans/003-unstrung.h5").unlink()
    served.move()
    assert len(reads) == 2
    calibration = next((served.bench.root / "calibrations").glob("*/rail-*.json"))
    calibration.unlink()
    served.move()
    assert len(reads) == 3
    (served.folder / "plans/001.json").unlink()  # plans say which scans show one neck
    served.move()
    assert len(reads) == 4


def test_a_report_and_another_job_keep_no_control_waiting(
    serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    from daq.daemon.jobs import routes

    served = serve("scanned")
    served.move()
    writing, done = threading.Event(), threading.Event()

    def slow(*_: Any) -> str:
        writing.set()
        assert done.wait(30)
        return "<!doctype html>"

    monkeypatch.setattr(routes, "report_of", slow)
    with ThreadPoolExecutor(1) as aside:
        report = aside.submit(served.get, "/report")
        try:
            assert writing.wait(30)
            assert served.move({"guard": 1.0})["revision"] == 1
            assert served.get("").status_code == 200
        finally:
            done.set()
        assert report.result(30).status_code == 200


def test_reading_a_job_keeps_the_rig_waiting_for_nothing(
    serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    served = serve("scanned")
    reading, done = threading.Event(), threading.Event()
    really = kept.neck_on_bench

    def slow(reader: Any) -> Any:
        reading.set()
        assert done.wait(30)
        return really(reader)

    monkeypatch.setattr(kept, "neck_on_bench", slow)
    keeper = served.bench.keeper
    with ThreadPoolExecutor(1) as aside:
        moved = aside.submit(served.move, {"guard": 1.0})
        try:
            assert reading.wait(30)
            seen = keeper.watching.live.seen.samples
            served.bench.until(lambda: keeper.watching.live.seen.samples > seen + 400)
            assert served.client.get("/v1/state").json()["state"] == "watching"
        finally:
            done.set()
        assert moved.result(60)["revision"] == 1
