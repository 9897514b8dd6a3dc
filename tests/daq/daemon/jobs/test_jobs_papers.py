"""What was found, compared, verified, and the papers; and that all of it is described."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from daq.cli.main import main

from .conftest import NAME, Serve


def drawn(pictures: list[dict[str, str]]) -> list[str]:
    """The titles of pictures that are each one whole drawing."""
    for picture in pictures:
        assert ET.fromstring(picture["svg"]).tag == "svg"
        assert picture["words"]
    return [picture["title"] for picture in pictures]


def test_what_was_found_in_each_state(serve: Serve) -> None:
    served = serve("scanned")
    strung = served.get("/found", state="strung").json()
    unstrung = served.get("/found", state="unstrung").json()
    assert (strung["state"], unstrung["state"]) == ("strung", "unstrung")
    assert strung["sentences"][0].startswith("Relief runs from")
    assert any(said.startswith("Dented: ") for said in unstrung["sentences"])
    assert len(unstrung["sentences"]) == len(set(unstrung["sentences"]))
    titles = drawn(unstrung["pictures"])
    assert "Wear" in titles[-1]
    assert len(drawn(strung["pictures"])) == len(titles) - 1
    assert served.get("/found", state="loose").status_code == 422


def test_nothing_was_found_yet(serve: Serve) -> None:
    answer = serve("strung").get("/found", state="unstrung")
    assert answer.status_code == 422
    assert "found no unstrung scan; make one" in answer.json()["message"]


def test_a_remark_of_a_scan_is_a_caution(serve: Serve) -> None:
    served = serve("scanned")
    path = served.folder / "instrument.yaml"
    text = path.read_text("utf-8")
    nut = float(re.findall(r"nut_at_mm: ([\d.]+)", text)[0])
    path.write_text(text.replace(f"nut_at_mm: {nut:g}", f"nut_at_mm: {nut + 4:g}"), "utf-8")
    cautions = served.get("/found", state="unstrung").json()["cautions"]
    assert any("002-unstrung.h5: " in said and "nut" in said for said in cautions)


def test_one_string_in_both_states(serve: Serve) -> None:
    served = serve("scanned")
    two, three = (served.get("/compare", what="states", string=s).json() for s in (2, 3))
    assert two["sentences"][0].startswith("Under string 2 the strings' pull changes relief by +")
    assert drawn(two["pictures"]) == ["String 2, strung over unstrung"]
    assert two["pictures"][0]["svg"] != three["pictures"][0]["svg"]
    for string in (0, 7):
        answer = served.get("/compare", what="states", string=string)
        assert answer.status_code == 422
        assert answer.json()["message"] == f"string: found {string}; allowed 1 to 6"


def test_before_and_after_the_file(serve: Serve) -> None:
    served = serve("filed")
    answer = served.get("/compare", what="filed", string=2)
    assert answer.status_code == 422
    assert "found nothing verified yet" in answer.json()["message"]
    check = served.post("/checks")
    assert check.status_code == 201
    cuts = [one for one in check.json()["document"]["cuts"] if one["string"] == 2]
    assert cuts
    filed = served.get("/compare", what="filed", string=2).json()
    told = [said for said in filed["sentences"] if said.startswith("Fret ")]
    assert [re.findall(r"Fret (\d+):", said)[0] for said in told] == [
        str(one["fret"]) for one in cuts
    ]
    titles = drawn(filed["pictures"])
    assert [title.split(":")[0] for title in titles[:2]] == ["String 2", "String 2"]
    assert titles[1] == "String 2: what was to come off and what did, µm"
    assert titles[2] == "Planned against achieved, µm"


def test_verifying_is_the_command_s_own(serve: Serve, capfd: pytest.CaptureFixture[str]) -> None:
    served = serve("filed")
    answer = served.post("/checks").json()
    stored = json.loads((served.folder / "checks/001.json").read_text("utf-8"))
    assert answer["document"] == stored
    assert answer["file"] == "001.json"
    assert answer["sentences"][0] == stored["next"]
    assert served.told("job") == [{"job": NAME, "why": "check"}]
    (served.folder / "checks/001.json").unlink()
    (served.bench.root / "laws.json").unlink()
    capfd.readouterr()
    main(["--workshop", str(served.bench.root), "verify", NAME, "--json"])
    typed = json.loads(capfd.readouterr().out)
    assert {**typed, "made": ""} == {**stored, "made": ""}


def test_nothing_can_be_verified_before_it_was_scanned(serve: Serve) -> None:
    answer = serve("planned").post("/checks")
    assert answer.status_code == 422
    assert "found no unstrung scan since 001.json was made" in answer.json()["message"]


def test_what_comes_from_a_terminal_is_told_to_whoever_looks(serve: Serve) -> None:
    served = serve("scanned")
    served.get("")
    assert served.told("job") == []
    assert main(["--workshop", str(served.bench.root), "plan", NAME, "--json"]) == 0
    served.get("")
    assert served.told("job") == [{"job": NAME, "why": "plan"}]


@pytest.mark.parametrize("what", ["report", "sheet"])
def test_papers_are_whole_pages_that_run_nothing(serve: Serve, what: str) -> None:
    answer = serve("planned").get(f"/{what}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.headers["content-security-policy"] == (
        "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'"
    )
    assert answer.headers["x-frame-options"] == "SAMEORIGIN"
    assert answer.text.startswith("<!doctype html>")
    assert "<script" not in answer.text
    assert "http" not in re.sub(r'http-equiv="[^"]*"|xmlns="[^"]*"', "", answer.text)


def test_there_is_no_paper_yet(serve: Serve) -> None:
    served = serve("empty")
    assert "holds no scan to report" in served.get("/report").json()["message"]
    assert "found no plan to make a cut sheet of" in served.get("/sheet").json()["message"]


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"beam_mm": 5}, "beam: found 5; allowed 50 to 1500 mm"),
        ({"tool": ""}, "tool"),
        ({"metal": "two\nlines"}, "metal"),
        ({"prop": "perhaps"}, "prop"),
        ({"wax": 1}, "wax"),
    ],
)
def test_a_plan_is_not_kept_for_what_cannot_be(
    serve: Serve, body: dict[str, Any], said: str
) -> None:
    served = serve("scanned")
    answer = served.post("/plans", body)
    assert answer.status_code == 422
    assert said in answer.json()["message"]
    assert not list((served.folder / "plans").iterdir())


def test_what_is_asked_of_jobs_is_asked_by_the_page_alone(serve: Serve) -> None:
    served = serve("scanned")
    path = f"{served.path}/asked"
    plain = served.client.post(path, content="{}", headers={"content-type": "text/plain"})
    assert plain.status_code == 415
    elsewhere = served.client.post(path, json={}, headers={"origin": "http://elsewhere.example"})
    assert elsewhere.status_code == 403
    assert served.asked()["revision"] == 0


def test_a_token_is_wanted_for_jobs_too(make_bench: Callable[[str | None], Any]) -> None:
    bench = make_bench("a-long-enough-word")
    with httpx.Client(base_url=bench.url) as client:
        assert client.get("/v1/jobs").status_code == 401
        told = {"authorization": "Bearer a-long-enough-word"}
        assert client.get("/v1/jobs", headers=told).status_code == 200


def test_every_route_of_a_job_is_described(client: httpx.Client) -> None:
    described = client.get("/v1/openapi.json").json()
    paths = {path: set(routes) for path, routes in described["paths"].items() if "/jobs" in path}
    assert paths == {
        "/v1/jobs": {"get", "post"},
        "/v1/jobs/{name}": {"get"},
        "/v1/jobs/{name}/found": {"get"},
        "/v1/jobs/{name}/asked": {"get", "post"},
        "/v1/jobs/{name}/why": {"post"},
        "/v1/jobs/{name}/plans": {"post"},
        "/v1/jobs/{name}/checks": {"post"},
        "/v1/jobs/{name}/compare": {"get"},
        "/v1/jobs/{name}/report": {"get"},
        "/v1/jobs/{name}/sheet": {"get"},
    }
    schemas = described["components"]["schemas"]
    for refers in re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(described)):
        assert refers in schemas
    move = described["paths"]["/v1/jobs/{name}/asked"]["post"]
    answer = move["responses"]["200"]["content"]["application/json"]["schema"]
    assert answer == {"$ref": "#/components/schemas/TriedAnswer"}
    assert set(move["responses"]) >= {"200", "404", "409", "422", "503", "507"}
