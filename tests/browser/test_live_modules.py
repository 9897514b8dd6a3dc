"""What the page's frame and the rig's view are made of, asked without a page around them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from .modules import Module
from .watch import Watch

Load = Callable[[str], Module]


@pytest.mark.parametrize(
    ("hash_", "name", "param"),
    [
        ("", "rig", ""),
        ("#rig", "rig", ""),
        ("#jobs", "jobs", ""),
        ("#job/tele%20of%20J%2FK", "job", "tele of J/K"),
        ("#job/a/b", "job", "a/b"),
        ("#job/50%", "job", "50%"),
    ],
)
def test_an_address_names_a_view(module_page: Load, hash_: str, name: str, param: str) -> None:
    assert module_page("js/views.js").call("routeOf", hash_) == {"name": name, "param": param}


def test_a_views_address_leads_back_to_it(module_page: Load) -> None:
    views = module_page("js/views.js")
    for name in ("tele", "ä/b %25#", "a b"):
        assert views.call("routeOf", views.call("hashOf", "job", name))["param"] == name
    assert views.call("hashOf", "rig") == "#rig"


def asked(module: Module, watch: Watch, status: int, body: str) -> dict[str, Any]:
    """What asking comes to where the daemon answers so."""
    watch.expect("Failed to load resource")
    module.page.route("**/v1/asked", lambda route: route.fulfill(status=status, body=body))
    return module.run(
        """({ ask, Fault }) => ask("/v1/asked").then((said) => ({ said }), (fault) => ({
          is: fault instanceof Fault, kind: fault.kind, message: fault.message,
          status: fault.status }))"""
    )


@pytest.mark.parametrize(
    ("status", "body", "kind", "words"),
    [
        (409, '{"kind": "RigError", "message": "the rig is at work"}', "RigError", "is at work"),
        (401, '{"kind": "InputError", "message": "Bearer"}', "InputError", "give the token"),
        (500, "Internal Server Error", "RigError", "answered 500 and no more"),
        (200, '{"half": ', "Away", "neckform serve"),
    ],
)
def test_a_refusal_is_a_fault_in_words(
    module_page: Load, watch: Watch, status: int, body: str, kind: str, words: str
) -> None:
    fault = asked(module_page("js/ask.js"), watch, status, body)
    assert fault["is"]
    assert fault["kind"] == kind
    assert words in fault["message"]
    assert fault["status"] == (0 if kind == "Away" else status)


def test_health_of_an_unfit_rig_is_an_answer(module_page: Load, watch: Watch) -> None:
    found = asked(module_page("js/ask.js"), watch, 503, '{"fit": false, "faults": ["gone"]}')
    assert found == {"said": {"fit": False, "faults": ["gone"]}}


def test_a_daemon_that_does_not_answer_is_a_fault_in_words(module_page: Load, watch: Watch) -> None:
    watch.expect("Failed to load resource")
    module = module_page("js/ask.js")
    module.page.route("**/v1/asked", lambda route: route.abort("connectionrefused"))
    fault = module.run('({ ask }) => ask("/v1/asked").catch(({ kind, status, message }) => '
                       "({ kind, status, message }))")  # fmt: skip
    assert (fault["kind"], fault["status"]) == ("Away", 0)
    assert "neckform serve" in fault["message"]


def test_a_question_is_posted_as_json(module_page: Load) -> None:
    module = module_page("js/ask.js")
    module.page.route("**/v1/asked", lambda route: route.fulfill(json={
        "method": route.request.method, "kind": route.request.headers["content-type"],
        "body": route.request.post_data_json}))  # fmt: skip
    told = module.run('({ ask }) => ask("/v1/asked", { answer: "done" })')
    assert told == {"method": "POST", "kind": "application/json", "body": {"answer": "done"}}


def test_words_of_a_lost_connection(module_page: Load) -> None:
    words = module_page("js/connection.js")
    said = words.run(
        """({ awayWords, backWords }) => { const at = new Date(2026, 0, 2, 14, 3, 20); return [
          awayWords(at, ""), awayWords(at, "too many listen already"),
          backWords(at, 25000, 600000), backWords(at, 25000, 3000)]; }"""
    )
    assert said[0].startswith("Not connected since 14:03:20. The daemon ended the connection")
    assert said[1] == "Not connected since 14:03:20. Too many listen already."
    assert said[2] == "Not connected from 14:03:20 for 25 s."
    assert said[3] == "Not connected from 14:03:20 for 25 s. The daemon was started again."


@pytest.mark.parametrize(
    ("state", "words", "bad"),
    [("watching", "ready", False), ("gone", "not there", True), ("new one", "new one", False)],
)
def test_a_state_has_a_sign_and_words(module_page: Load, state: str, words: str, bad: bool) -> None:
    said = module_page("js/rigstate.js").call("stateWords", state)
    assert (said["words"], said["bad"]) == (words, bad)
    assert said["sign"]


STEPS = [
    ("begin", {"total_passes": 4}),
    ("pass_started", {"lane": 1, "string": 1.5, "direction": -1, "attempt": 2}),
    ("samples", {"count": 12345, "x_mm": 25.0}),
    ("notice", {"text": "the rig has gone silent: check the cable"}),
    ("notice", {"text": "no longer so: the rig has gone silent"}),
    ("pass_ended", {"verdict": {"good": True, "why": []}}),
    ("pass_ended", {"verdict": {"good": False, "why": ["too fast"]}}),
]


def after(module: Module, count: int) -> dict[str, Any]:
    work = module.call("begunWork", "w", "record")
    for step, told in STEPS[:count]:
        work = module.call("after", work, step, told, [0, 100])
    return work


def test_a_works_progress_in_words(module_page: Load) -> None:
    steps = module_page("js/steps.js")
    under_way = after(steps, 3)
    assert steps.call("workTitle", under_way) == "Recording: pass 1 of 4"
    assert under_way["now"] == (
        "Lane 1, between strings 1 and 2, towards the nut, attempt 2: 12,345 samples"
    )
    # towards the nut, with three quarters of the way behind it
    assert steps.call("shareDone", under_way) == pytest.approx(0.75 / 4)
    assert after(steps, 4)["said"] == ["the rig has gone silent: check the cable"]
    assert after(steps, 5)["said"] == ["no longer so: the rig has gone silent"]
    ended = after(steps, 7)
    assert steps.call("shareDone", ended) == 0.25
    assert ended["said"] == ["too fast", "no longer so: the rig has gone silent"]
    assert steps.call("after", ended, "something new", {}, [0, 100]) == ended


@pytest.mark.parametrize(
    ("kind", "begun", "state", "why", "words"),
    [
        ("scan", True, "done", "", "Scan done."),
        ("look", True, "done", "", None),
        ("check rig", True, "done", "", None),
        ("record", True, "stopped", "stopped; kept in a.journal",
         "Recording stopped; kept in a.journal."),
        ("scan", True, "stopped", "stopped before anything was recorded",
         "Scan stopped before anything was recorded."),
        ("calibrate rail", True, "stopped", "", "Measurement of the rail stopped."),
        ("check rig", False, "stopped", "", "Check of the rig: not begun."),
        ("calibrate lag", True, "failed", "no.", "Measurement of the lag failed: no."),
        ("something new", True, "failed", "no", "something new failed: no."),
    ],
)  # fmt: skip
def test_what_is_told_of_a_work_that_is_over(
    module_page: Load, kind: str, begun: bool, state: str, why: str, words: str | None
) -> None:
    work = {"kind": kind, "begun": begun}
    assert module_page("js/steps.js").call("endWords", work, state, why) == words


def test_a_work_that_asks_first_has_not_begun(module_page: Load) -> None:
    steps = module_page("js/steps.js")
    waits = steps.call("begunWork", "w", "scan", False)
    assert steps.call("workTitle", waits) == "Scan"
    assert steps.call("nowWords", waits) == "Not begun: it waits for your answer above."
    asks = {**after(steps, 3), "asks": True}
    assert steps.call("nowWords", asks) == "It waits for your answer above."
    assert "samples" in steps.call("nowWords", {**asks, "asks": False})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("The neck lies on the rig. Go on?", ["Go on", "Not now"]),
        ("Set the cross slide to 4.5 mm", ["Done", "Give up"]),
        ("", ["Done", "Give up"]),
    ],
)
def test_a_questions_buttons_fit_it(module_page: Load, text: str, words: list[str]) -> None:
    assert module_page("js/question.js").call("answerWords", text) == words


def test_an_axis_holds_its_readings_on_round_steps(module_page: Load) -> None:
    scale = module_page("js/rig/scale.js")

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.floats(-10, 10), st.floats(0, 20), st.sampled_from([0.02, 0.5]), st.integers(2, 6))
    def holds(low: float, span: float, least: float, most: int) -> None:
        axis = scale.call("axis", low, low + span, least, most)
        tiny = 1e-6 * axis["step"]
        assert axis["from"] <= low + tiny
        assert axis["to"] >= low + span - tiny
        assert axis["to"] - axis["from"] >= least - tiny
        steps = (axis["to"] - axis["from"]) / axis["step"]
        assert steps == pytest.approx(round(steps), abs=1e-6)
        assert 1 <= round(steps) <= most
        assert f"{axis['step']:.{axis['digits']}f}".strip("0.") in ("1", "2", "5")
        marks = scale.call("multiples", axis["from"], axis["to"], axis["step"])
        assert len(marks) == round(steps) + 1

    holds()


@pytest.mark.parametrize(
    ("length_mm", "most", "marks"),
    [(60, 18.4, [5, 1]), (60, 5.9, [20, 5]), (640, 18.4, [50, 10]), (640, 5.9, [200, 50])],
)
def test_a_rule_has_as_many_numbers_as_there_is_room_for(
    module_page: Load, length_mm: float, most: float, marks: list[float]
) -> None:
    found = module_page("js/rig/scale.js").call("ruleMarks", length_mm, most)
    assert [found["long"], found["short"]] == marks


def test_columns_keep_every_spike_and_cross_small_holes_only(module_page: Load) -> None:
    found = module_page("js/rig/columns.js").run(
        """({ Columns }) => { const one = new Columns(20);
          for (const [x, low, high] of [[1.2, 1, 1], [1.9, 0.5, 9], [3, 2, 2], [12, 4, 4],
            [-1, 99, 99], [20, 99, 99], [5, NaN, NaN]]) one.add(x, low, high);
          return { extremes: one.extremes, runs: one.runs(4), none: new Columns(3).extremes }; }"""
    )
    assert found["extremes"] == [0.5, 9]
    assert found["none"] is None
    assert found["runs"] == [
        {"first": 1, "low": [0.5, 1.25, 2], "high": [9, 5.5, 2]},
        {"first": 12, "low": [4], "high": [4]},
    ]


def test_recent_readings_stand_where_they_came_and_old_ones_go(module_page: Load) -> None:
    found = module_page("js/rig/recent.js").run(
        """({ Recent }) => { const recent = new Recent(); const low = Array(8).fill(1);
          for (let n = 0; n < 2000; n++) recent.add({ from_ms: 40 * n, at_ms: 40 * n + 40, low,
            high: low.map((_, i) => (n === 1990 && i === 3 ? 7 : 1)) });
          recent.add({ from_ms: 80000, at_ms: 80040, low: [null], high: [null] });
          const columns = recent.columns(60040, 80040, 1000);
          return { count: recent.count, at: columns.high.indexOf(7),
            holes: [...columns.low].map(Number.isNaN).lastIndexOf(true) }; }"""
    )
    assert found["count"] == 8192
    assert found["at"] == (1990 * 40 + 3.5 * 5 - 60040) // 20
    assert found["holes"] == 999  # what could not be read is no reading


def test_the_profile_grows_and_is_read_as_near_as_a_finger_points(module_page: Load) -> None:
    found = module_page("js/rig/bins.js").run(
        """({ Bins }) => { const none = Array(100).fill(null);
          const bins = new Bins({ from_mm: 10, bin_mm: 0.1, low: none, high: none });
          bins.put({ first: 20, low: [1, null, 3], high: [2, null, 4] });
          const read = (x) => bins.at(x);
          const told = { here: read(12.05), near: read(12.15), far: read(12.9), beyond: read(-5),
            columns: bins.columns(12, 12.3, 3).extremes, away: bins.columns(13, 20, 7).extremes };
          bins.clear();
          return { ...told, cleared: read(12.05) }; }"""
    )
    assert found["here"] == {"x_mm": pytest.approx(12.05), "low": 1, "high": 2}
    assert found["near"]["low"] in (1, 3)
    assert (found["far"], found["beyond"], found["cleared"]) == (None, None, None)
    assert (found["columns"], found["away"]) == ([1, 4], None)


def test_the_close_look_goes_with_the_carriage_until_it_is_sent_elsewhere(
    module_page: Load,
) -> None:
    found = module_page("js/rig/look.js").run(
        """({ Look }) => { const look = new Look([0, 640]); const seen = [];
          const see = () => seen.push([...look.window, look.follows, look.finger]);
          look.carriageAt(5); see(); look.carriageAt(300); see(); look.carriageAt(null); see();
          look.pointAt(320); see(); look.pointAt(400); see(); look.carriageAt(100); see();
          look.pointAt(999); see(); look.letGo(); see(); return seen; }"""
    )
    assert found == [
        [0, 60, True, None],
        [270, 330, True, None],
        [270, 330, True, None],
        [270, 330, True, 320],
        [370, 430, False, 400],
        [370, 430, False, 400],
        [580, 640, False, 640],
        [580, 640, False, None],
    ]


@pytest.mark.parametrize(
    ("key", "to"),
    [("ArrowLeft", 99.5), ("ArrowRight", 100.5), ("PageUp", 105), ("Home", 0), ("a", None)],
)
def test_keys_move_a_place(module_page: Load, key: str, to: float | None) -> None:
    assert module_page("js/rig/look.js").call("keyed", key, 100, [0, 640], 0.5, 5) == to


def test_what_was_lost_is_of_the_last_minute(module_page: Load) -> None:
    shares = module_page("js/rig/lately.js").run(
        """({ LostLately }) => { const lost = new LostLately();
          return [[0, 1000, 500], [1000, 1090, 510], [70000, 8000, 510], [71000, 8100, 510],
            [72000, 50, 0]].map(([at_ms, samples, lost_]) =>
              lost.share({ at_ms, samples, lost: lost_ })); }"""
    )
    assert shares == [0, pytest.approx(0.1), 0, 0, 0]


def test_how_late_and_how_often_is_drawn(module_page: Load) -> None:
    found = module_page("js/rig/lately.js").run(
        """({ Lateness }) => { const late = new Lateness(); const before = late.found;
          for (let n = 0; n < 300; n++) late.drawn(40 * n, 40 * n - (n === 299 ? 90 : 50));
          return [before, late.found]; }"""
    )
    assert found == [None, {"middle_ms": 50, "most_ms": 90, "per_s": 25}]


HEALTH: dict[str, Any] = {
    "fit": False, "state": "gone", "faults": ["no port"], "stream_faults": ["no port", "silent"],
    "links": {"rig": "not there"}, "gaps": 1, "lost": 2, "bad_frames": 3, "queue_bytes": 0,
    "disk_free_bytes": 5_000_000, "disk_needed_bytes": 90_000_000, "clients": 2, "up_s": 7200,
    "memory_bytes": 80_000_000, "last_fault": None,
    "calibrations": [
        {"kind": "rail", "state": "missing", "age_days": None},
        {"kind": "sensor", "state": "old", "age_days": 400},
        {"kind": "lag", "state": "ok", "age_days": 3},
    ],
}  # fmt: skip


def test_health_in_words(module_page: Load) -> None:
    words = module_page("js/rig/healthwords.js")
    assert words.call("wrongNow", HEALTH) == ["no port", "silent"]
    (advice,) = words.call("toDo", HEALTH)
    assert "cable" in advice
    assert words.call("toDo", {**HEALTH, "state": "watching"}) == []
    rows = {what: (said, bad) for what, said, bad in words.call("healthRows", HEALTH)}
    assert rows["Fit for a scan"] == ("no", True)
    assert rows["Link rig"] == ("not there", True)
    assert rows["Disk"] == ("5,000 kB free; a scan needs 90 MB", True)
    assert rows["Calibrations"] == ("sensor 400 days is old; lag 3 days; none yet of rail", True)
    assert rows["Daemon"][0] == "up 2 h, 80 MB in memory, 2 listening"
