"""The whole job in a browser: from opening it to the printed sheet, the check and the report."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from .benchview import BenchView
from .conftest import NewPage
from .daemons import Daemon, served
from .rigview import wait_for
from .watch import Watch

JOB = "walnut parlour"
SCAN_MS = 120_000


@pytest.fixture
def daemon(tmp_path: Path) -> Iterator[Daemon]:
    """A simulated rig that is as fast as one may be; the workshop is empty."""
    with served(tmp_path / "shop", "--simulate", "--seed", "5", "--pace", "50") as daemon:
        yield daemon


class Repairer:
    """At the page; whatever is done beside the rig is done by the page's buttons too."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.job = BenchView(page, JOB)

    def press(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def by_hand(self, order: str, then: str) -> None:
        """An order to the hands beside the simulated rig."""
        self.press(order)
        wait_for(self.page, "#job-view .hands [role=status]", f", {then}.")

    def scan(self, step: str) -> None:
        """Scans a state: the form, the question before anything moves, the end."""
        self.job.step(step)
        self.page.locator(".scan-form button[type=submit]").click()
        wait_for(self.page, "#question", "The carriage is about to move")
        self.page.locator("#question-done").click()
        said = self.page.locator(".scan-form [role=status]")
        expect(said).to_have_text("Scanned.", timeout=SCAN_MS)

    def next_is(self, words: str) -> None:
        expect(self.page.locator("p", has_text="Next:")).to_contain_text(words)

    def hold_back_by_keys(self) -> tuple[int, int]:
        """A place where nothing is to be cut, gone to by arrow keys and held by a key."""
        fret, string = self.page.evaluate(
            """() => [...document.querySelectorAll(".board .cell[data-fret]")]
              .filter((one) => !/to come off/.test(one.getAttribute("aria-label") ?? ""))
              .map((one) => [Number(one.dataset.fret), Number(one.dataset.string)])[0]"""
        )
        self.page.locator(".board .sheet").focus()
        for key, times in (("ArrowRight", fret - 1), ("ArrowDown", string - 1)):
            for _ in range(times):
                self.page.keyboard.press(key)
        self.page.keyboard.press("h")
        held = self.page.get_by_role("button", name="Place", exact=True)
        expect(held).to_have_attribute("aria-pressed", "true")
        return fret, string

    def keep_by_keys(self) -> str:
        """From the tabs on by the keyboard alone; the command that does the same."""
        self.page.get_by_role("tab", name="Player").focus()
        for _ in range(5):
            self.page.keyboard.press("ArrowRight")
        expect(self.page.get_by_role("tab", name="Keep")).to_be_focused()
        submit = self.page.locator("[role=tabpanel]:not([hidden]) button[type=submit]")
        for _ in range(10):
            self.page.keyboard.press("Tab")
            if submit.evaluate("(one) => one === document.activeElement"):
                break
        self.page.keyboard.press("Enter")
        return self.page.locator("code.command").inner_text()


@pytest.mark.parametrize(
    "to_the_end", [False, pytest.param(True, marks=pytest.mark.campaign)], ids=["sheet", "report"]
)
def test_the_job_by_clicks_and_keys(
    daemon: Daemon, new_page: NewPage, watch: Watch, to_the_end: bool
) -> None:
    page = new_page(f"{daemon.url}#jobs")
    hands = Repairer(page)
    hands.press("Use its instrument file")
    page.get_by_role("textbox", name="Name of the job").fill(JOB)
    page.keyboard.press("Enter")
    hands.next_is("strings on")
    hands.scan("Scan strung")
    hands.by_hand("Take the strings off", "unstrung")
    hands.scan("Scan unstrung")
    hands.next_is("keep a plan")

    hands.job.bench()
    hands.job.type_in("Highest action, string 1", "1.6")
    hands.job.settled("Every margin and limit is met")
    place = hands.hold_back_by_keys()
    command = hands.keep_by_keys()
    assert f"plan '{JOB}' --target" in command
    plan = json.loads((daemon.root / "jobs" / JOB / "plans" / "001.json").read_text())
    assert plan["target"]["hold"]["places"] == [list(place)]

    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open the bench sheet").click()
    sheet = opened.value
    expect(sheet.locator("body")).to_contain_text(JOB)
    printed = sheet.pdf(format="A4", print_background=True)
    assert printed.startswith(b"%PDF")
    assert printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ") <= 3
    sheet.close()
    if to_the_end:
        file_and_report(hands)
    assert {request.split()[0] for request in watch.asked} == {"GET", "POST"}


def file_and_report(hands: Repairer) -> None:
    """What comes after the sheet."""
    page = hands.page
    hands.job.step("File")
    hands.press("File the frets as the latest plan says")
    hands.scan("Scan again")
    hands.job.step("Verify")
    hands.press("Verify what came off")
    wait_for(page, ".inside", "Before and after filing")
    hands.job.step("String up")
    hands.by_hand("Put the strings on and tune to pitch", "strung")
    hands.scan("String up")
    hands.job.step("Report")
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open the report").click()
    report = opened.value
    expect(report.locator("body")).to_contain_text(JOB)
    assert len(report.content()) < 6e6
