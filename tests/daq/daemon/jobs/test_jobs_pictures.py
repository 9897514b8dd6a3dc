"""What the pictures of a job show that its numbers do not: doubts, and both lines of tops."""

from __future__ import annotations

import json
import re
from typing import Any

from .conftest import Serve

_CELL = re.compile(r'<g class="cell[^"]*"[^>]*data-fret="(\d+)" data-string="(\d+)".*?</g>', re.S)


def _doubted(svg: str) -> set[tuple[int, int]]:
    """(fret, string) of cells with a "?" in their corner."""
    return {
        (int(one[1]), int(one[2]))
        for one in _CELL.finditer(svg)
        if re.search(r'class="corner"[^>]*>\?<', one[0])
    }


def test_doubtful_tops_are_those_of_the_terminal(
    serve: Serve, plan_in_terminal: Any, tmp_path: Any
) -> None:
    served = serve("scanned")
    answer = served.move(tab="a", show={"layer": "cut", "string": 1})
    kept = plan_in_terminal(served.bench.root, answer["asked"], tmp_path / "asked.json")
    said = {(one["fret"], one["string"]) for one in kept["doubts"]
            if one["kind"] == "top"}  # fmt: skip
    assert said
    assert _doubted(answer["map"]["svg"]) == said
    other = served.move(tab="a", show={"layer": "height", "string": 1})
    assert _doubted(other["map"]["svg"]) == set()


def test_a_filed_string_is_drawn_before_and_after(serve: Serve) -> None:
    served = serve("verified")
    found = served.get("/compare", what="filed", string=1).json()
    titles = [one["title"] for one in found["pictures"]]
    assert titles[0] == "String 1: its tops before and after, µm over the chord before"
    assert "dot-after" in found["pictures"][0]["svg"]
    # without the scan before there is no line to draw; what came off was kept
    check = json.loads(next((served.folder / "checks").glob("0*")).read_text(encoding="utf-8"))
    (served.folder / "scans" / check["scans"]["before"]).unlink()
    found = served.get("/compare", what="filed", string=1).json()
    assert [one["title"] for one in found["pictures"]] == titles[1:]
    assert any(said.startswith("The tops before and after are not drawn") for said in
               found["sentences"])  # fmt: skip
