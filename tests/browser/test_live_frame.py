"""The page's frame against a daemon of a few answers: what it says, and where the focus goes."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page, Route, expect

from daq.daemon.page import page_files

from .modules import ORIGIN
from .watch import Watch

WORK = {"id": "w1", "kind": "look", "state": "running", "began": "2026-01-02T14:03:20+00:00",
        "event": 3, "question": None, "error": None}  # fmt: skip
QUESTION = {"work": "w1", "kind": "look", "id": "q1", "text": "Slacken the strings, then go on."}
HEALTH = {
    "fit": True, "state": "watching", "faults": [], "stream_faults": [], "links": {}, "gaps": 0,
    "lost": 0, "bad_frames": 0, "queue_bytes": 0, "disk_free_bytes": 9e9, "clients": 1,
    "disk_needed_bytes": 1e7, "up_s": 9999, "memory_bytes": 1e7, "last_fault": None,
    "calibrations": [],
}  # fmt: skip


class FewAnswers:
    """A daemon whose stream tells `events`, ends, and is asked for again a second later."""

    def __init__(self) -> None:
        self.status = 200
        self.events: list[tuple[str, dict[str, Any]]] = []
        self.posted: list[tuple[str, Any]] = []
        self.said: dict[str, Any] = {
            "rig": {"name": "short-rail", "program": "neckform 1", "rate_hz": 400,
                    "travel_mm": [0, 100], "pads_mm": []},
            "state": {"state": "watching", "work": None, "event": 3},
            "profile": {"from_mm": 0, "bin_mm": 0.1, "low": [None], "high": [None]},
            "health": HEALTH,
            "jobs": {"jobs": []},
            "work": [],
        }  # fmt: skip

    def answer(self, route: Route) -> None:
        """To whatever the page asks."""
        path, query = urlsplit(route.request.url)[2:4]
        if path == "/v1/events" and self.status == 200 and "live=false" in query:
            route.fulfill(content_type="text/event-stream", body=": here\n\n")  # not refused
        elif path == "/v1/events" and self.status == 200:
            told = [f"event: {kind}\ndata: {json.dumps(data)}\n\n" for kind, data in self.events]
            self.events = []
            route.fulfill(content_type="text/event-stream", body="".join(told) or ": here\n\n")
        elif path.startswith("/v1/"):
            if route.request.method == "POST":
                self.posted.append((path, route.request.post_data_json))
            said = self.said.get(path.removeprefix("/v1/"), {})
            refused = {"kind": "InputError", "message": "the token is missing or wrong"}
            route.fulfill(status=self.status, json=said if self.status == 200 else refused)
        else:
            name = path.removeprefix("/page/") if path != "/" else "index.html"
            file = page_files()[name]
            route.fulfill(content_type=file.kind, body=file.content)


@pytest.fixture
def daemon() -> FewAnswers:
    return FewAnswers()


@pytest.fixture
def page(new_page: Any, watch: Watch, daemon: FewAnswers) -> Page:
    """Opened, with the rig's name in its head."""
    watch.hosts.add(urlsplit(ORIGIN).netloc)
    opened: Page = new_page()
    opened.route(f"{ORIGIN}/**", daemon.answer)
    opened.goto(f"{ORIGIN}/")
    expect(opened.locator("#name")).to_have_text("short-rail")
    return opened


def test_a_question_takes_the_focus_and_is_answered_by_a_key(
    page: Page, daemon: FewAnswers
) -> None:
    daemon.said["state"] = {**daemon.said["state"], "work": {**WORK, "question": QUESTION}}
    expect(page.locator("#question")).to_be_focused()
    expect(page.locator("#question-text")).to_have_text(QUESTION["text"])
    page.keyboard.press("Enter")  # what was meant for something else answers nothing
    assert daemon.posted == []
    page.keyboard.press("Tab")
    daemon.said["state"] = {**daemon.said["state"], "work": WORK}
    page.keyboard.press("Enter")
    expect(page.locator("#question")).to_be_hidden()
    assert daemon.posted == [("/v1/questions/q1", {"answer": "done"})]


def test_a_question_leaves_the_focus_to_who_is_typing(page: Page, daemon: FewAnswers) -> None:
    page.locator("#straightedge").focus()
    daemon.said["state"] = {**daemon.said["state"], "work": {**WORK, "question": QUESTION}}
    expect(page.locator("#question")).to_be_visible()
    page.keyboard.type("0.4")
    expect(page.locator("#straightedge")).to_have_value("0.4")


def test_what_was_answered_elsewhere_is_said(page: Page, daemon: FewAnswers) -> None:
    daemon.said["state"] = {**daemon.said["state"], "work": {**WORK, "question": QUESTION}}
    expect(page.locator("#question")).to_be_focused()
    daemon.events = [("answered", {"work": "w1", "id": "q1"})]
    expect(page.locator("#told")).to_contain_text("answered elsewhere")
    page.get_by_role("button", name="Seen").first.click()


def test_a_question_that_was_over_before_it_was_seen_is_not_spoken_of(
    page: Page, daemon: FewAnswers
) -> None:
    ended = {"work": "w1", "kind": "look", "state": "failed", "why": "no"}
    daemon.events = [("question", QUESTION), ("answered", QUESTION), ("work_ended", ended)]
    expect(page.locator("#told")).to_contain_text("Look at the sensor failed: no")
    expect(page.locator("#question")).to_be_hidden()
    assert "elsewhere" not in page.locator("#told").inner_text()


def test_another_version_of_the_daemon_asks_for_a_reload(page: Page, daemon: FewAnswers) -> None:
    expect(page.locator("#version")).to_be_hidden()
    daemon.said["rig"] = {**daemon.said["rig"], "program": "neckform 2"}
    expect(page.locator("#version")).to_contain_text("of neckform 1, and the daemon is neckform 2")
    page.get_by_role("button", name="Reload the page").click()
    expect(page.locator("#name")).to_have_text("short-rail")
    expect(page.locator("#version")).to_be_hidden()


def test_a_token_that_is_wanted_is_asked_for_in_words(
    page: Page, daemon: FewAnswers, watch: Watch
) -> None:
    watch.expect("401")
    daemon.status = 401
    expect(page.locator("#away")).to_contain_text("give the token as the password")
    expect(page.locator("#state-words")).to_have_text("not connected")
    daemon.status = 200
    expect(page.locator("#told")).to_contain_text("Not connected from")
    expect(page.locator("#away")).not_to_contain_text("token")


def test_a_work_that_asks_first_is_shown_as_waiting(page: Page, daemon: FewAnswers) -> None:
    first = {**QUESTION, "text": "The neck lies on the rig. Go on?"}
    waiting = {**WORK, "kind": "calibrate lag", "state": "waiting", "question": first}
    daemon.said["state"] = {**daemon.said["state"], "work": waiting}
    expect(page.locator("#work-title")).to_have_text("Measurement of the lag")
    expect(page.locator("#work-now")).to_have_text("Not begun: it waits for your answer above.")
    expect(page.locator("#work-stop")).to_be_hidden()
    expect(page.locator("#question-done")).to_have_text("Go on")
    expect(page.locator("#question-stop")).to_have_text("Not now")
    for press in page.locator("#ready form button").all():
        expect(press).to_be_disabled()


def test_a_sensor_that_sees_nothing_is_said(page: Page, daemon: FewAnswers) -> None:
    live = {"from_ms": 0, "at_ms": 40, "x_mm": 1.0, "z_mm": None, "rate_hz": 400.0, "samples": 16,
            "lost": 0, "gaps": 0, "bad": 0, "low": [None], "high": [None],
            "profile": None}  # fmt: skip
    daemon.events = [("live", live)]
    expect(page.locator("#unread")).to_contain_text("nothing under the sensor, or out of its range")
    daemon.events = [("live", {**live, "z_mm": 1.5})]
    expect(page.locator("#unread")).to_be_empty()
    expect(page.locator("#reading")).to_have_text("1.500")
