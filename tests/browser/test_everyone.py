"""Every view, light and dark, at a desk, on a tablet, in a hand: read, reached and hit by all."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from ..finished import job_as_it_was
from . import looks
from .benchview import BenchView
from .browsers import SCREENS
from .conftest import NewPage
from .daemons import Daemon, served
from .rigview import wait_for

SCANNED, DONE = "just scanned", "all done"
#: Where every kind of picture is looked at mark by mark.
DRAWN = ("job, Scan unstrung", "job, Verify", "plan, Player", "sheet")
Look = Callable[[Page, bool], list[str]]


@pytest.fixture(scope="module")
def daemon(finished: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Daemon]:
    """A simulated rig, and two jobs: one to be planned, one that is done."""
    root = tmp_path_factory.mktemp("everyone")
    shutil.copytree(finished / "calibrations", root / "calibrations")
    for name, stage in ((SCANNED, "scanned"), (DONE, "done")):
        job_as_it_was(finished, stage, root / "jobs" / name)
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
        with served(root, "--simulate") as daemon:
            yield daemon


class Tour:
    """A page that goes from view to view, and what was found wrong in each."""

    def __init__(self, page: Page, daemon: Daemon, look: Look) -> None:
        self.page, self.daemon = page, daemon
        self._look = look
        self.found: dict[str, list[str]] = {}

    def look(self, view: str) -> None:
        wrong = self._look(self.page, view in DRAWN)
        if wrong:
            self.found[view] = wrong

    @property
    def told(self) -> str:
        """Every fault once, with the views it was seen in."""
        faults: dict[str, list[str]] = {}
        for view, lines in self.found.items():
            for line in lines:
                faults.setdefault(line, []).append(view)
        return "\n".join(f"{line}   ({', '.join(views)})" for line, views in faults.items())

    def go(self, hash_: str) -> None:
        self.page.goto(f"{self.daemon.url}#{hash_}")

    def rig(self) -> None:
        """Live, asked of a person, and gone."""
        self.go("rig")
        wait_for(self.page, "#state", "ready")
        wait_for(self.page, "#health", "Daemon")
        self.look("rig, live")
        scan = {"kind": "scan", "job": SCANNED, "state": "strung"}
        self.daemon.ask("work", scan).raise_for_status()
        wait_for(self.page, "#question", "Go on?")
        self.look("rig, a question")
        self.page.locator("#question-stop").click()
        self.page.locator("#question").wait_for(state="hidden")
        self.daemon.ask("simulated", {"do": "cable", "plugged": False}).raise_for_status()
        wait_for(self.page, "#state", "not there")
        wait_for(self.page, "#wrong", "came loose")
        self.look("rig, gone")
        self.daemon.ask("simulated", {"do": "cable", "plugged": True}).raise_for_status()
        wait_for(self.page, "#state", "ready")

    def jobs(self) -> None:
        self.go("jobs")
        self.page.get_by_role("link", name=DONE).wait_for()
        self.look("jobs")
        bench = BenchView(self.page, DONE).open()
        for step, says in {
            "Scan strung": "Found, strung",
            "Scan unstrung": "Strung and unstrung",
            "File": "Open the bench sheet",
            "Scan again": "Found, unstrung",
            "Verify": "Before and after filing",
            "String up": "Found, strung",
            "Report": "Open the report",
        }.items():
            bench.step(step)
            wait_for(self.page, ".inside", says)
            expect(self.page.locator("[aria-busy]")).to_have_count(0)
            self.look(f"job, {step}")

    def bench(self) -> None:
        """The plan: each group of controls, then one that cannot be."""
        bench = BenchView(self.page, SCANNED).open().bench()
        for tab in ("Player", "Set-up", "Shape", "Held", "Cures", "Keep"):
            bench.tab(tab)
            self.look(f"plan, {tab}")
        bench.tab("Player")
        bench.type_in("Highest action, string 1", "0.5")
        bench.settled("short over fret")
        bench.tab("Cures")
        wait_for(self.page, "[role=tabpanel]:not([hidden])", "each alone")
        self.look("plan, infeasible")
        bench.tab("Player")
        bench.type_in("Highest action, string 1", "2")

    def papers(self) -> None:
        for paper in ("report", "sheet"):
            self.page.goto(f"{self.daemon.url}v1/jobs/{DONE}/{paper}")
            self.look(paper)


def in_the_light(page: Page, drawn: bool) -> list[str]:
    """By every rule of axe, and in the dark where there are pictures; not the pictures' marks."""
    found = looks.violations(page, pictures=False)
    return found + (in_the_dark(page, False) if drawn else [])


def drawn_in_the_light(page: Page, drawn: bool) -> list[str]:
    """Pictures mark by mark: most of the time that looking takes."""
    return looks.violations(page) + in_the_dark(page, True) if drawn else []


def in_the_dark(page: Page, drawn: bool) -> list[str]:
    """By the one rule that colours matter to."""
    page.emulate_media(color_scheme="dark")
    found = [f"dark, {line}" for line in looks.violations(page, ("color-contrast",), drawn)]
    page.emulate_media(color_scheme="light")
    return found


def by_finger(page: Page, _: bool) -> list[str]:
    """Letters, targets, and whether the page must be pushed sideways, on a tablet and in a hand."""
    found = []
    for screen in ("touch", "hand"):
        page.set_viewport_size(SCREENS[screen]["viewport"])
        wide = looks.wider_than_the_screen(page)
        sideways = [f"{wide} px wider than the screen"] if wide else []
        small = looks.small_texts(page) + looks.small_targets(page) + sideways
        found += [f"{screen}, {line}" for line in small]
    return found


@pytest.mark.parametrize(
    ("screen", "look"),
    [
        pytest.param("desk", in_the_light, id="light"),
        pytest.param("desk", drawn_in_the_light, id="drawn", marks=pytest.mark.campaign),
        pytest.param("desk", in_the_dark, id="dark", marks=pytest.mark.campaign),
        pytest.param("hand", by_finger, id="finger"),
    ],
)
def test_every_view(daemon: Daemon, new_page: NewPage, screen: str, look: Look) -> None:
    tour = Tour(new_page(daemon.url, screen=screen), daemon, look)
    tour.rig()
    tour.jobs()
    tour.bench()
    if screen == "desk":
        tour.papers()
    assert tour.found == {}, tour.told


@pytest.mark.parametrize("where", ["rig", "jobs", f"job/{SCANNED}"])
def test_the_tab_key_goes_everywhere_and_is_seen(
    daemon: Daemon, new_page: NewPage, where: str
) -> None:
    page = new_page(daemon.url)
    page.goto(f"{daemon.url}#{where}")
    wait_for(page, "#state", "ready")
    page.locator("main:not([hidden])").wait_for()
    if where == "rig":
        page.get_by_text("Hands", exact=True).wait_for()
    if where == "jobs":
        page.get_by_role("link", name=DONE).wait_for()
        page.get_by_role("button", name="Use its instrument file").wait_for()
    if where.startswith("job/"):
        page.locator(".board svg").wait_for()
    stops = looks.tabbed(page)
    assert len(stops) > 3
    assert [stop["name"] for stop in stops if not stop["shown"]] == []
    assert [stop["name"] for stop in stops if not stop["inside"]] == []
    reached = {stop["name"] for stop in stops}
    assert set(looks.reachable(page)) <= reached
