"""The list of jobs, one job, what it wants next, and jobs that are not there."""

from __future__ import annotations

import json
import shutil
from typing import Any

import pytest

from ....finished import STAGES
from .conftest import NAME, Serve


def test_the_list_tells_what_each_job_holds(serve: Serve) -> None:
    served = serve("filed")
    (served.folder.parent / "a broken one").mkdir()
    (served.folder.parent / "a broken one" / "instrument.yaml").write_text("frets: many\n")
    broken, whole = served.client.get("/v1/jobs").json()["jobs"]
    assert (whole["name"], whole["strings"], whole["frets"]) == (NAME, 6, 22)
    assert (whole["scans"], whole["plans"], whole["checks"]) == (3, 1, 0)
    assert whole["fault"] is None
    assert (broken["name"], broken["strings"]) == ("a broken one", None)
    assert "frets: found text 'many'" in broken["fault"]


def test_a_workshop_without_jobs_has_an_empty_list(client: Any) -> None:
    assert client.get("/v1/jobs").json() == {"jobs": []}


def test_a_job_is_opened_with_the_text_of_an_instrument_file(serve: Serve) -> None:
    served = serve("empty")
    text = (served.folder / "instrument.yaml").read_text("utf-8")
    made = served.client.post("/v1/jobs", json={"name": " Anna's no more ", "instrument": text})
    assert made.status_code == 422
    made = served.client.post("/v1/jobs", json={"name": "another one", "instrument": text})
    assert made.status_code == 201
    assert made.json() == served.client.get("/v1/jobs/another one").json()
    assert made.json()["instrument"]["strings"] == 6
    again = served.client.post("/v1/jobs", json={"name": "another one", "instrument": text})
    assert again.status_code == 422
    assert "a job of that name already" in again.json()["message"]


def test_every_fault_of_an_instrument_file_has_a_line(serve: Serve) -> None:
    served = serve("empty")
    text = (served.folder / "instrument.yaml").read_text("utf-8")
    wrong = text.replace("frets:", "fretts:").replace("nut_at_mm:", "nut_at:")
    made = served.client.post("/v1/jobs", json={"name": "wrong", "instrument": wrong})
    assert made.status_code == 422
    lines = made.json()["message"].splitlines()
    assert len(lines) > 2
    assert all(line.startswith("instrument:") for line in lines)
    assert not (served.folder.parent / "wrong").exists()


def test_one_job_in_the_order_of_the_work(serve: Serve) -> None:
    served = serve("done")
    job = served.get("").json()
    assert job["instrument"]["body_joint_fret"] == 16
    assert [(one["number"], one["state"]) for one in job["scans"]] == [
        (1, "strung"), (2, "unstrung"), (3, "unstrung"), (4, "strung"),
    ]  # fmt: skip
    assert all(one["made"].startswith("20") for one in job["scans"])
    assert [one["rod_turns"] for one in job["scans"][:3]] == [0.0, 0.0, 0.0]
    rod = json.loads((served.folder / "plans/001.json").read_text("utf-8"))["rod"]
    way = {"tighten": 1.0, "loosen": -1.0, "none": 0.0}[rod["direction"]]
    assert job["scans"][3]["rod_turns"] == pytest.approx(way * rod["turns"])
    (plan,) = job["plans"]
    assert plan["feasible"]
    assert plan["metal_um"] > 0
    assert plan["player"] == "everyday"
    assert [one["plan"] for one in job["checks"]] == ["001.json", "001.json"]


def test_damaged_files_are_told_in_place(serve: Serve) -> None:
    served = serve("verified")
    (served.folder / "plans/001.json").write_text("{")
    scan = served.folder / "scans/001-strung.h5"
    scan.unlink()
    scan.write_bytes(b"no scan")
    job = served.get("").json()
    assert "found a damaged file" in job["plans"][0]["fault"]
    assert "001-strung.h5" in job["scans"][0]["fault"]
    assert job["scans"][0]["made"] is None
    assert job["next"]["do"] == "plan"


@pytest.mark.parametrize(
    ("stage", "do"),
    [
        ("empty", "scan strung"), ("strung", "scan unstrung"), ("scanned", "plan"),
        ("planned", "file"), ("filed", "verify"), ("strung up", "verify"),
    ],
)  # fmt: skip
def test_what_is_next(serve: Serve, stage: str, do: str) -> None:
    assert stage in STAGES
    following = serve(stage).get("").json()["next"]
    assert following["do"] == do
    assert following["words"]


def test_what_is_next_after_a_strung_scan_in_the_midst_of_filing(serve: Serve) -> None:
    served = serve("strung up")
    (served.folder / "checks/001.json").unlink()
    (served.folder / "scans/003-unstrung.h5").unlink()
    assert served.get("").json()["next"]["do"] == "scan after"


@pytest.mark.parametrize(
    ("stage", "says", "do"),
    [
        ("verified", {"another_pass": True}, "file"),
        ("verified", {"another_pass": False}, "string up"),
        ("done", {"strung": {"standing": {"done": True}}}, "report"),
        ("done", {"strung": {"standing": {"done": False}}}, "plan"),
        # a check of before strings went on, which another unstrung scan has overtaken
        ("done", {"strung": None, "scans": {"before": "002-unstrung.h5"}}, "verify"),
        # metal alone does not do it: plan again once the strings are on
        (
            "done",
            {
                "strung": None,
                "scans": {"before": "002-unstrung.h5", "after": "003-unstrung.h5"},
                "standing": {"done": False, "metal_can": False},
            },
            "plan",
        ),
    ],
)
def test_what_is_next_after_a_verification(
    serve: Serve, stage: str, says: dict[str, Any], do: str
) -> None:
    served = serve(stage)
    path = sorted((served.folder / "checks").iterdir())[-1]
    document = json.loads(path.read_text("utf-8"))
    path.write_text(json.dumps({**document, **says}))
    assert served.get("").json()["next"]["do"] == do


def test_what_is_next_where_the_plan_is_none(serve: Serve) -> None:
    served = serve("planned")
    plan = served.folder / "plans/001.json"
    stored = json.loads(plan.read_text("utf-8"))
    plan.write_text(json.dumps({**stored, "feasible": False}))
    assert served.get("").json()["next"]["do"] == "plan"
    plan.write_text(json.dumps({**stored, "cuts": []}))
    assert served.get("").json()["next"]["do"] == "string up"


def test_there_is_no_such_job(serve: Serve) -> None:
    served = serve("empty")
    for path in ("", "/asked", "/found?state=strung", "/report", "/sheet", "/compare?what=filed"):
        answer = served.client.get(f"/v1/jobs/nobody's{path}")
        assert answer.status_code == 404
        assert answer.json()["kind"] == "InputError"
    assert "allowed 1 to 64 letters" in answer.json()["message"]
    for path in ("/asked", "/why", "/plans", "/checks"):
        answer = served.client.post(f"/v1/jobs/another{path}", json={})
        assert answer.status_code == 404
        assert f"the jobs there are: {NAME}" in answer.json()["message"]


def test_a_job_that_vanishes_is_told_and_what_was_asked_of_it_is_forgotten(serve: Serve) -> None:
    served = serve("scanned")
    served.move({"guard": 1.5})
    away = served.folder.with_name("put away")
    served.folder.rename(away)
    for _ in range(2):
        answer = served.post("/asked", {"change": {"guard": 1.0}})
        assert answer.status_code == 404
        message = answer.json()["message"]
        assert f"it was last seen at {served.folder}" in message
        assert "is forgotten" in message
    assert served.told("job") == [{"job": NAME, "why": "gone"}]
    away.rename(served.folder)
    asked = served.asked()
    assert (asked["revision"], asked["asked"]["playing"]["guard"]) == (0, 2.0)
    shutil.rmtree(served.folder)
    assert served.get("").status_code == 404


def test_a_folder_that_vanishes_under_a_request_is_told_as_that(
    serve: Serve, monkeypatch: pytest.MonkeyPatch
) -> None:
    from daq.daemon.jobs import kept

    served = serve("scanned")
    reading = kept.neck_on_bench

    def vanishing(reader: Any) -> Any:
        shutil.rmtree(reader.job.folder)
        return reading(reader)

    monkeypatch.setattr(kept, "neck_on_bench", vanishing)
    answer = served.post("/asked", {"change": {"guard": 1.0}})
    assert answer.status_code == 404
    assert "found no folder any more" in answer.json()["message"]
