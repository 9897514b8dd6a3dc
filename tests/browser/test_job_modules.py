"""The job's view, the parts of it that need no page: what is asked, sent, taken back, and said."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from .modules import Module

ModulePage = Callable[[str], Module]

ASKED: dict[str, Any] = {
    "playing": {
        "name": "everyday",
        "pluck_force_n": 0.6,
        "guard": 2.0,
        "highest_action_mm": {"1": 1.7, "12": 2.2},
    },
    "rod": "free",
    "saddles": {"3": -0.1},
    "nut": "keep",
    "hold": {"frets": [3], "strings": [6], "places": [[5, 2]]},
    "shape": {"frets": [1, 14], "off_mm": [0.0, 0.02], "hollow_mm": 0.1},
}


STANDS: list[tuple[str, object]] = [
    ("player", "everyday"),
    ("pluck_force_n", 0.6),
    ("action.first_mm", 1.7),
    ("action.last_mm", 2.2),
    ("rod", "free"),
    ("saddles", {"3": -0.1}),
    ("saddle.3", -0.1),
    ("saddle.4", None),
    ("nut.3", None),
    ("hold.fret.3", True),
    ("hold.fret.5", False),
    ("hold.string.6", True),
    ("hold.place.5.2", True),
    ("hold.place.2.5", False),
    ("shape.from", 1),
    ("shape.to_off_um", 20),
    ("shape.hollow_um", 100),
]


def test_what_a_path_stands_for(module_page: ModulePage) -> None:
    paths = module_page("js/job/paths.js")
    assert [(path, paths.call("valueAt", ASKED, path)) for path, _ in STANDS] == STANDS


def test_nothing_stands_in_a_shape_that_is_not_asked_for(module_page: ModulePage) -> None:
    asked = {**ASKED, "shape": None}
    assert module_page("js/job/paths.js").call("valueAt", asked, "shape.to") is None


def test_two_changes_as_one(module_page: ModulePage) -> None:
    paths = module_page("js/job/paths.js")

    def both(earlier: object, later: object) -> Any:
        script = "(module, [a, b]) => Object.entries(module.merged(a, b))"
        return paths.run(script, [earlier, later])

    hard = ["player", "hard"]
    assert both({"guard": 1}, {"guard": 2}) == [["guard", 2]]
    assert both({"guard": 1, "rod": "keep"}, {"player": "hard"}) == [["rod", "keep"], hard]
    assert both({"action.last_mm": 2}, {"player": "hard"}) == [hard]
    assert both({"player": "hard"}, {"guard": 1}) == [hard, ["guard", 1]]
    assert both({"saddle.2": 0.1, "nut.2": 0.1}, {"saddles": "keep"}) == [
        ["nut.2", 0.1],
        ["saddles", "keep"],
    ]
    assert both({"shape.to": 12}, {"shape": None}) == [["shape", None]]


SENDING = """async (module, script) => {
  const posts = [], heard = [], open = [];
  const post = (body) => new Promise((yes, no) => { posts.push(body); open.push({ yes, no }); });
  const sender = module.makeSender(post, {
    answered: (answer, what) => heard.push(["answered", answer, what.at_ms]),
    refused: (fault, what) => heard.push(["refused", fault.status, Object.keys(what.change)]) });
  const turn = () => new Promise((done) => setTimeout(done));
  const answer = async (value) => { open.shift().yes(value); await turn(); };
  const refuse = async (status) => { open.shift().no({ status }); await turn(); };
  await eval(`(async () => { ${script} })()`);
  return { posts, heard, busy: sender.busy };
}"""


def sent(module_page: ModulePage, script: str) -> Any:
    return module_page("js/job/send.js").run(SENDING, script)


def test_one_request_is_in_flight_and_the_latest_waits(module_page: ModulePage) -> None:
    done = sent(
        module_page,
        "sender.move({ guard: 1 }, 'a', 10); sender.move({ guard: 2 }, 'a', 20);"
        "sender.move({ rod: 0.25 }, 'b', 30); sender.move({ guard: 3 }, 'c', 40);"
        "await answer('one'); await answer('two');",
    )
    assert done["posts"] == [
        {"change": {"guard": 1}, "show": "a"},
        {"change": {"rod": 0.25, "guard": 3}, "show": "c"},
    ]
    assert done["heard"] == [["answered", "one", 10], ["answered", "two", 20]]
    assert done["busy"] is False


def test_what_is_moved_on_top_of_everything_goes_after_it(module_page: ModulePage) -> None:
    done = sent(
        module_page,
        "sender.move({ guard: 1 }, 's'); sender.move({ guard: 2 }, 's');"
        "sender.all('everything', 's'); sender.move({ guard: 3 }, 's');"
        "await answer(1); await answer(2); await answer(3);",
    )
    assert done["posts"][1:] == [
        {"all": "everything", "show": "s"},
        {"change": {"guard": 3}, "show": "s"},
    ]


def test_what_is_refused_does_not_stop_the_next(module_page: ModulePage) -> None:
    done = sent(
        module_page,
        "sender.move({ guard: 9 }, 's'); sender.move({ rod: 0 }, 's'); await refuse(422);"
        "await answer(1);",
    )
    assert done["heard"][0] == ["refused", 422, ["guard"]]
    assert done["posts"][1] == {"change": {"rod": 0}, "show": "s"}


def test_what_nobody_answered_is_sent_once_somebody_does(module_page: ModulePage) -> None:
    done = sent(
        module_page,
        "sender.move({ guard: 1 }, 's'); await refuse(0); sender.move({ rod: 0 }, 's');"
        "await turn(); heard.push(posts.length); sender.again(); await turn(); await answer(1);",
    )
    assert done["heard"][:2] == [["refused", 0, ["guard"]], 1]
    assert done["posts"][1] == {"change": {"guard": 1, "rod": 0}, "show": "s"}
    assert done["busy"] is False


def test_a_move_taken_back_leaves_what_another_window_moved(module_page: ModulePage) -> None:
    before = {"playing": {"guard": 2, "force": 1}, "rod": "free", "hold": [1]}
    after = {"playing": {"guard": 3, "force": 1}, "rod": "free", "hold": [1, 2]}
    now = {"playing": {"guard": 3, "force": 5}, "rod": "keep", "hold": [1, 2]}
    back = module_page("js/job/history.js").call("takenBack", now, before, after)
    assert back == {"playing": {"guard": 2, "force": 5}, "rod": "keep", "hold": [1]}


def test_a_slider_that_is_dragged_is_one_move(module_page: ModulePage) -> None:
    script = """(module) => {
      const history = new module.History();
      const begins = [history.move("a", { a: 1 })];
      history.came({ a: 2 });
      begins.push(history.move("a", { a: 2 }));
      history.came({ a: 3 });
      history.rest();
      begins.push(history.move("a", { a: 3 }));
      history.came({ a: 4 });
      history.rest();
      const first = history.undo({ a: 4 }), second = history.undo(first);
      const done = [history.canUndo, history.redo(second), history.canRedo];
      begins.push(history.move("b", { a: 3 }));
      history.came({ a: 3 });
      history.rest();
      return { begins, first, second, done, redo: history.canRedo };
    }"""
    done = module_page("js/job/history.js").run(script)
    assert done["begins"] == [True, False, True, True]
    assert (done["first"], done["second"]) == ({"a": 3}, {"a": 1})
    assert done["done"] == [False, {"a": 3}, True]
    assert done["redo"] is False  # a new move leaves nothing to do again


TYPED: list[tuple[str, object]] = [
    ("1.55", {"value": 1.55}),
    ("1,55", {"value": 1.55}),
    (" −0.5 ", {"value": -0.5}),
    ("-0.5", {"value": -0.5}),
    (".5", {"value": 0.5}),
    ("", {"fault": "Nothing stands here. Give a number from −1.00 to 2.00 mm."}),
    ("abc", {"fault": "“abc” is no number. Allowed: −1.00 to 2.00 mm."}),
    ("1e5", {"fault": "“1e5” is no number. Allowed: −1.00 to 2.00 mm."}),
    ("3", {"fault": "3 is too much. Allowed: −1.00 to 2.00 mm."}),
    ("-2", {"fault": "-2 is too little. Allowed: −1.00 to 2.00 mm."}),
]


def test_a_number_typed(module_page: ModulePage) -> None:
    entry = module_page("js/job/entry.js")
    found = [(text, entry.call("readNumber", text, [-1, 2, 0.01], "mm")) for text, _ in TYPED]
    assert found == TYPED


def test_steps_stay_on_their_marks_and_between_their_ends(module_page: ModulePage) -> None:
    entry = module_page("js/job/entry.js")
    odd = [-0.1933, 0.5, 0.05]
    assert entry.call("stepped", 0.6666, 1, [0, 1, 0.01]) == 0.67
    assert entry.call("stepped", 0.67, -1, [0, 1, 0.01]) == 0.66
    assert entry.call("stepped", -0.15, -1, odd) == -0.15
    assert entry.call("stepped", 0.5, 1, odd) == 0.5
    assert entry.call("allowedWords", odd, "mm") == "−0.15 to 0.50 mm"


def test_frets_in_sight(module_page: ModulePage) -> None:
    script = """(module) => {
      const range = module.makeRange(24);
      const seen = [range.asked];
      for (const [way, fret] of [["closer", 7], ["closer", 7], ["up", 7], ["up", 7], ["up", 7],
        ["up", 7], ["up", 7], ["down", 7], ["wider", 20], ["all", 1]]) {
        range.turn(way, fret);
        seen.push(range.asked);
      }
      return seen;
    }"""
    assert module_page("js/job/range.js").run(script) == [
        None, [1, 13], [4, 10], [7, 13], [10, 16], [13, 19], [16, 22], [18, 24], [15, 21],
        [12, 24], None,
    ]  # fmt: skip


TRIED: dict[str, Any] = {
    "feasible": True,
    "metal_um": 304.2,
    "level_um": 6152.4,
    "rod": {"turns": 0.2297, "direction": "loosen", "relief_change_mm": 0.0919},
    "saddles": [{"string": 1, "change_mm": 0.6666}, {"string": 2, "change_mm": -0.001}],
    "nut": [{"string": 1, "change_mm": -0.1933}, {"string": 2, "change_mm": 0.0}],
    "action": [{"string": 1, "after_mm": 1.7}, {"string": 2, "after_mm": 1.8}],
    "tally": {"clear": 250, "undecided": 5, "buzzes": 3},
    "least": {"string": 3, "fretted": 5, "at": 6, "bend": True, "spare_mm": -0.0123},
    "short": [],
    "shape_short": [],
}


def test_the_numbers_that_matter(module_page: ModulePage) -> None:
    cards = module_page("js/job/figures.js").call("cardsOf", TRIED)
    said = [" ".join(filter(None, (one["value"], one["unit"], one["more"]))) for one in cards]
    assert said == [
        "304 µm 5 % of levelling",
        "0.23 looser +0.09 mm of relief",
        "−0.012 mm String 3 bent at 5 over fret 6",
        "250 of 258 5 undecided, 3 buzz",
    ]


def test_a_plan_that_is_none_has_no_metal(module_page: ModulePage) -> None:
    figures = module_page("js/job/figures.js")
    short = [
        {"string": 2, "fretted": 0, "at": 1, "bend": False, "short_mm": 0.0001},
        {"string": 3, "fretted": 5, "at": 6, "bend": False, "short_mm": 0.0123},
    ]
    tried = {**TRIED, "feasible": False, "short": short}
    assert [one["value"] for one in figures.call("cardsOf", tried)[:2]] == ["–", "–"]
    assert figures.call("shortWords", tried)[1] == (
        "String 2 open stays less than 0.001 mm short over fret 1"
    )
    assert figures.call("verdictWords", tried) == (
        "String 3 fretted at 5 stays 0.012 mm short over fret 6, and 1 more place."
    )


def test_what_is_set_by_string(module_page: ModulePage) -> None:
    rows = module_page("js/job/figures.js").call("rowsOf", TRIED)
    assert [row["values"] for row in rows] == [["+0.67", "0.00"], ["−0.19", "0.00"],
                                               ["1.70", "1.80"]]  # fmt: skip


def test_where_a_job_stands(module_page: ModulePage) -> None:
    where = module_page("js/job/whereabouts.js")
    steps = where.call("stepsOf", {"next": {"do": "file"}})
    assert [step["state"] for step in steps] == ["done"] * 3 + ["next"] + ["later"] * 4
    assert where.call("panelOf", {"next": {"do": "string up"}}) == "restrung"


ASKING = """async (module, script) => {
  const posts = [], said = [], open = [];
  const post = (body) => new Promise((yes) => { posts.push(body); open.push(yes); });
  const told = { tried: () => {}, began: () => said.push("began"),
    elsewhere: (paths) => said.push(paths), refused: () => {} };
  const asking = new module.Asking({ tab: "me", post, told });
  asking.paths = ["guard", "pluck_force_n", "rod"];
  const asked = (guard, rod = "free") => ({ playing: { name: "everyday", guard,
    pluck_force_n: 0.5 }, rod });
  const turn = () => new Promise((done) => setTimeout(done));
  const answer = async (guard, revision, rod) => {
    open.shift()({ asked: asked(guard, rod), revision });
    await turn();
  };
  asking.begin({ asked: asked(2), revision: 4 });
  await eval(`(async () => { ${script} })()`);
  return { posts, said };
}"""


def asked(module_page: ModulePage, script: str) -> Any:
    return module_page("js/job/asking.js").run(ASKING, script)


def test_another_windows_move_is_followed_and_named(module_page: ModulePage) -> None:
    done = asked(
        module_page,
        "asking.heard({ revision: 4, tab: 'other' }); asking.heard({ revision: 9, tab: 'me' });"
        "said.push(posts.length); asking.heard({ revision: 5, tab: 'other' });"
        "await answer(2, 5, 'keep');",
    )
    assert done["said"] == [0, ["rod"]]
    assert done["posts"][0]["change"] == {}
    assert done["posts"][0]["tab"] == "me"


def test_own_moves_are_not_named(module_page: ModulePage) -> None:
    done = asked(module_page, "asking.move('guard', 3, 1); await answer(3, 5, 'keep');")
    assert done["said"] == ["began", ["rod"]]


def test_a_daemon_that_forgot_is_told_again(module_page: ModulePage) -> None:
    done = asked(
        module_page,
        "said.push(asking.back({ revision: 0, asked: asked(1) })); await answer(2, 1);"
        "said.push(asking.back({ revision: 7, asked: asked(1) })); await answer(1, 7);",
    )
    assert done["posts"][0]["all"]["playing"]["guard"] == 2
    assert "all" not in done["posts"][1]
    assert done["said"] == [True, False, ["guard"]]


def test_what_was_moved_while_the_daemon_was_away_is_not_lost(module_page: ModulePage) -> None:
    done = asked(
        module_page,
        "asking.move('guard', 3, 1); open.shift()(Promise.reject({ status: 0 })); await turn();"
        "asking.back({ revision: 0, asked: asked(1) }); await turn(); await answer(2, 1);"
        "await answer(3, 2);",
    )
    assert done["posts"][1]["all"]["playing"]["guard"] == 2
    assert done["posts"][2]["change"] == {"guard": 3}


def test_what_is_held_back_by_name(module_page: ModulePage) -> None:
    held = module_page("js/job/heldback.js").call("heldPaths", ASKED["hold"])
    assert held == [
        ["hold.fret.3", "Fret 3"],
        ["hold.string.6", "String 6"],
        ["hold.place.5.2", "Fret 5 under string 2"],
    ]
