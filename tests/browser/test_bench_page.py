"""The plan on the bench: what is moved on the page, and what the page then says, in numbers."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from daq.cli.main import main

from ..finished import job_as_it_was
from .benchview import BenchView
from .conftest import NewPage
from .daemons import Daemon, served
from .rigview import wait_for
from .watch import Watch, until

REFUSED = r"status of 422 .*/asked\)$"
VANISHED = r"status of 404 .*/v1/jobs/"
JOB = "parlour in blue"


@pytest.fixture(scope="module")
def daemon(finished: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Daemon]:
    """A daemon without a job yet, with the demo's calibrations."""
    root = tmp_path_factory.mktemp("bench")
    shutil.copytree(finished / "calibrations", root / "calibrations")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
        with served(root, "--simulate") as daemon:
            yield daemon


@pytest.fixture(scope="module")
def at_first(daemon: Daemon, finished: Path) -> Any:
    """A job with both states scanned, and what is asked of it before anybody asks."""
    job_as_it_was(finished, "scanned", daemon.root / "jobs" / JOB)
    return daemon.ask(f"jobs/{JOB}/asked").json()["asked"]


@pytest.fixture
def bench(daemon: Daemon, at_first: Any, new_page: NewPage) -> BenchView:
    """The job on a page, its bench open, nothing asked yet."""
    daemon.ask(f"jobs/{JOB}/asked", {"all": at_first}).raise_for_status()
    return BenchView(new_page(daemon.url), JOB).open().bench()


def in_terminal(daemon: Daemon, bench: BenchView, capfd: pytest.CaptureFixture[str]) -> Any:
    """`neckform plan NAME --target FILE --json`, for what is asked on the page."""
    target = daemon.root / "target.json"
    asked = daemon.ask(f"jobs/{JOB}/asked").json()["asked"]
    target.write_text(json.dumps(asked))
    capfd.readouterr()
    words = ["--workshop", str(daemon.root), "plan", JOB, "--target", str(target), "--json"]
    assert main(words) in (0, 1)
    return json.loads(capfd.readouterr().out)


def same_numbers(bench: BenchView, plan: Any) -> None:
    """What stands on the page, to the digits it has there."""
    cards, rows = bench.cards, bench.rows
    if not plan["feasible"]:
        assert cards["Metal off"] == "–"
        assert any(said in bench.verdict for said in worst_words(plan["short"]))
        return
    metal_um, unit = cards["Metal off"].split()
    # halves are rounded up by the page, to even by others
    assert float(metal_um) == pytest.approx(plan["metal"]["planned_um_total"], abs=0.51)
    assert unit == "µm"
    if plan["rod"]["direction"] == "none":
        assert cards["Rod, turns"] == "stays"
    else:
        turns, way = cards["Rod, turns"].split()
        assert float(turns) == pytest.approx(plan["rod"]["turns"], abs=0.0051)
        assert way == {"tighten": "tighter", "loosen": "looser"}[plan["rod"]["direction"]]
    for row, kind, key in (
        ("Saddle", "saddles", "change_mm"),
        ("Nut slot", "nut", "change_mm"),
        ("Action after", "action", "after_mm"),
    ):
        assert rows[row] == pytest.approx([one[key] for one in plan[kind]], abs=0.0051)
    # the terminal's is made of three numbers that were rounded
    assert float(cards["Least room"].split()[0]) == pytest.approx(least_mm(plan), abs=0.0007)


def worst_words(short: list[dict[str, Any]]) -> list[str]:
    """What may be said of the place that stays shortest; several may be as short."""
    most = max(one["short_mm"] for one in short)
    return [
        f"String {one['string']} {_held(one)} stays {one['short_mm']:.3f} mm short over fret "
        f"{one['worst_at']}"
        for one in short
        if one["short_mm"] > most - 0.0006
    ]


def _held(one: dict[str, Any]) -> str:
    if one["fretted"] == 0:
        return "open"
    return f"{'bent' if one['bend'] else 'fretted'} at {one['fretted']}"


def least_mm(plan: Any) -> float:
    """To spare where there is least of it, where none but the undecided are worse than clear."""
    margins = plan["margins"] + plan["bends"]
    undecided = [one for one in margins if one["verdict"] == "undecided"]
    return min(
        one["clearance_mm"] - one["needed_mm"] - one["more_mm"] for one in undecided or margins
    )


#: One after the other; with the last of them there is no plan.
MOVES = (
    lambda bench: bench.type_in("Highest action, string 1", "1.5"),
    lambda bench: bench.type_in("Widest bend", "0.5"),
    lambda bench: (bench.tab("Set-up"), bench.type_in("Turned by, tighter +", "0.25")),
    lambda bench: asked_shape(bench),
    lambda bench: (bench.tab("Player"), bench.type_in("Pluck force", "0,8")),
)


def asked_shape(bench: BenchView) -> None:
    bench.tab("Shape")
    with bench.answered():
        bench.page.get_by_role("button", name="Ask for a shape").click()
    bench.type_in("Hollow between", "150")


def test_the_page_has_the_numbers_of_the_terminal(
    daemon: Daemon, bench: BenchView, capfd: pytest.CaptureFixture[str]
) -> None:
    feasible = []
    for move in MOVES:
        move(bench)
        plan = in_terminal(daemon, bench, capfd)
        same_numbers(bench, plan)
        feasible.append(plan["feasible"])
    assert (feasible[0], feasible[-1]) == (True, False)


def test_a_slider_moved_by_keys(bench: BenchView) -> None:
    bench.slider("Highest action, string 1").focus()
    value = bench.field("Highest action, string 1").input_value()
    with bench.answered() as answer:
        bench.page.keyboard.press("ArrowRight")
    asked = answer.value.json()["asked"]["playing"]["highest_action_mm"]
    assert float(asked["1"]) == pytest.approx(float(value) + 0.05)
    expect(bench.field("Highest action, string 1")).to_have_value(f"{float(value) + 0.05:.2f}")
    with bench.answered():
        bench.page.keyboard.press("Control+z")
    expect(bench.field("Highest action, string 1")).to_have_value(value)


ENTRIES = {
    "9": "9 is too much. Allowed: 0.50 to 5.00 mm",
    "-1": "-1 is too little. Allowed: 0.50 to 5.00 mm",
    "low": "“low” is no number. Allowed: 0.50 to 5.00 mm",
    "1e3": "“1e3” is no number",
    "": "Nothing stands here. Give a number from 0.50 to 5.00 mm",
}


def test_entries_that_are_not_allowed(daemon: Daemon, bench: BenchView) -> None:
    before = daemon.ask(f"jobs/{JOB}/asked").json()
    field = bench.field("Highest action, string 1")
    words = bench.page.locator(f"#{field.get_attribute('aria-describedby')}")
    for typed, says in ENTRIES.items():
        field.fill(typed)
        field.press("Enter")
        expect(field).to_have_attribute("aria-invalid", "true")
        expect(words).to_contain_text(says)
    assert daemon.ask(f"jobs/{JOB}/asked").json() == before
    bench.type_in("Highest action, string 1", "2")
    expect(field).not_to_have_attribute("aria-invalid", "true")
    expect(words).to_have_text("0.50 to 5.00 mm")


def test_an_entry_that_only_the_daemon_refuses(bench: BenchView, watch: Watch) -> None:
    watch.expect(REFUSED)
    asked_shape(bench)
    field = bench.field("First anchor")
    field.fill("22")
    field.press("Enter")
    expect(bench.page.locator(".said")).to_contain_text("allowed")


def test_two_tabs_move_the_same_control(bench: BenchView, new_page: NewPage) -> None:
    other = BenchView(new_page(bench.page.url, beside=bench.page), JOB).bench()
    bench.type_in("Pluck force", "0.9")
    expect(other.field("Pluck force")).to_have_value("0.90")
    wait_for(other.page, ".said", "moved in another window")
    other.type_in("Pluck force", "0.7")
    expect(bench.field("Pluck force")).to_have_value("0.70")
    until(bench.page, lambda: bench.cards == other.cards)


def test_a_fret_is_held_back(daemon: Daemon, bench: BenchView) -> None:
    cut = cut_most(bench)
    with bench.answered():
        bench.page.locator(f'.cell[data-fret="{cut[0]}"][data-string="{cut[1]}"]').click()
    bench.page.keyboard.press("f")
    board = bench.page.get_by_role("region", name="The board")
    held = board.get_by_role("button", name=f"Fret {cut[0]}", exact=True)
    expect(held).to_have_attribute("aria-pressed", "true")
    until(bench.page, lambda: held_frets(daemon) == [cut[0]])
    bench.tab("Held")
    let_go = bench.page.get_by_role("button", name=f"Let go fret {cut[0]}")
    expect(let_go).to_be_visible()
    with bench.answered() as answer:
        let_go.click()
    assert answer.value.json()["asked"]["hold"]["frets"] == []


def held_frets(daemon: Daemon) -> list[int]:
    return list(daemon.ask(f"jobs/{JOB}/asked").json()["asked"]["hold"]["frets"])


def cut_most(bench: BenchView) -> tuple[int, int]:
    """A fret and a string where something is cut, by the words of its place on the map."""
    bench.page.get_by_role("button", name="Cut", exact=True).click()
    cells = bench.page.locator(".cell[data-fret]")
    said = cells.evaluate_all(
        "(all) => all.map((one) => [one.dataset.fret, one.dataset.string,"
        " one.getAttribute('aria-label') ?? ''])"
    )
    found = [(int(fret), int(string)) for fret, string, words in said if "µm" in words]
    assert found, said[:5]
    return found[0]


def test_a_job_that_vanishes(daemon: Daemon, bench: BenchView, watch: Watch) -> None:
    watch.expect(VANISHED)
    folder = daemon.root / "jobs" / JOB
    folder.rename(daemon.root / "elsewhere")
    bench.field("Pluck force").fill("0.6")
    bench.field("Pluck force").press("Enter")
    wait_for(bench.page, ".jobs-view, .notice", "is not there any more")
    assert bench.page.url.endswith("#jobs")
    (daemon.root / "elsewhere").rename(folder)


def test_the_daemon_begun_again_has_what_was_asked(
    daemon: Daemon, bench: BenchView, watch: Watch
) -> None:
    watch.expect("net::ERR_")
    bench.type_in("Pluck force", "0.85")
    daemon.kill()
    bench.page.locator("#away").wait_for()
    bench.field("Widest bend").fill("1")
    bench.field("Widest bend").press("Enter")
    wait_for(bench.page, ".said", "the daemon is away")
    daemon.start()
    wait_for(bench.page, ".said", "put back")
    until(bench.page, lambda: asked_now(daemon, bench) == (0.85, 1.0))


def asked_now(daemon: Daemon, bench: BenchView) -> tuple[float, float]:
    playing = daemon.ask(f"jobs/{JOB}/asked").json()["asked"]["playing"]
    return playing["pluck_force_n"], playing["bend_semitones"]


def test_what_is_infeasible_is_said_with_cures(bench: BenchView) -> None:
    bench.type_in("Highest action, string 1", "0.5")
    bench.settled("stays")
    assert bench.cards["Metal off"] == "–"
    bench.page.get_by_role("button", name="What would cure it").click()
    wait_for(bench.page, "[role=tabpanel]:not([hidden])", "What would cure it, each alone")
