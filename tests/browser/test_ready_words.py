"""What makes a rig ready, in words, asked without a page around it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from .modules import Module

Load = Callable[[str], Module]


@pytest.mark.parametrize(
    ("kind", "document", "tone", "says"),
    [
        ("check rig", {"fit": True, "redo": []}, "good", "● Fit to scan"),
        ("check rig", {"fit": True, "redo": ["rail"]}, "some", "something to do again"),
        ("check rig", {"fit": False, "redo": ["rail"]}, "bad", "▲ Not fit to scan"),
        ("calibrate lag", {}, "good", "● Measured and kept"),
    ],
)
def test_whether_what_was_found_is_good(
    module_page: Load, kind: str, document: dict[str, Any], tone: str, says: str
) -> None:
    found = module_page("js/rig/readywords.js").call("verdictOf", kind, {"document": document})
    assert found["tone"] == tone
    assert says in found["verdict"]


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (None, "Not measured yet."),
        ({"state": "missing", "age_days": None}, "Not measured yet."),
        ({"state": "ok", "age_days": 0}, "Measured today."),
        ({"state": "ok", "age_days": 1}, "Measured yesterday."),
        ({"state": "old", "age_days": 400}, "▲ Measured 400 days ago: measure it again."),
        ({"state": "damaged", "age_days": None}, "▲ What was measured is damaged"),
    ],
)
def test_a_calibrations_age_in_words(module_page: Load, one: Any, words: str) -> None:
    said = module_page("js/rig/healthwords.js").run(
        "({ ageWords }, one) => ageWords(one ?? undefined)", one
    )
    assert said.startswith(words)


@pytest.mark.parametrize(
    ("typed", "um", "fault"),
    [("", None, None), (" ", None, None), ("0,5", 0.5, None), ("-1", None, "too little"),
     ("flat", None, "no number")],
)  # fmt: skip
def test_a_straightedges_own_error_may_be_empty(
    module_page: Load, typed: str, um: float | None, fault: str | None
) -> None:
    said = module_page("js/rig/readywords.js").run(
        """async ({ railAsked }, typed) =>
          railAsked(typed, (await import("/page/js/job/entry.js")).readNumber)""",
        typed,
    )
    if fault is not None:
        assert fault in said["fault"]
        return
    own = {} if um is None else {"straightedge_um": um}
    assert said == {"asked": {"kind": "calibrate rail", **own}}


def test_the_newest_result_is_shown(module_page: Load) -> None:
    works = [
        {"id": "a", "kind": "check rig", "state": "done"},
        {"id": "b", "kind": "calibrate rail", "state": "failed"},
        {"id": "c", "kind": "calibrate lag", "state": "stopped"},
        {"id": "d", "kind": "look", "state": "done"},
        {"id": "e", "kind": "check rig", "state": "waiting"},
    ]
    words = module_page("js/rig/readywords.js")
    assert words.call("newestShown", works)["id"] == "b"
    assert words.call("newestShown", []) is None
