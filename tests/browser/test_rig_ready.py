"""A rig made ready from its page, by who has no terminal; and tabs that nobody sees."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from .conftest import NewPage
from .daemons import Daemon, served
from .rigview import wait_for, words
from .watch import until

HIDE = """hidden => {
  Object.defineProperty(document, "hidden", { value: hidden, configurable: true });
  document.dispatchEvent(new Event("visibilitychange"));
}"""


@pytest.fixture(scope="module")
def daemon(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Daemon]:
    """A simulated rig, twenty times as fast as steel."""
    root = tmp_path_factory.mktemp("ready")
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
        with served(root, "--simulate", "--pace", "20") as daemon:
            yield daemon


def test_the_rig_is_checked_from_its_page(daemon: Daemon, new_page: NewPage) -> None:
    page = new_page(daemon.url)
    wait_for(page, "#state", "ready")
    page.get_by_role("button", name="Check the rig").click()
    wait_for(page, "#question", "goes along its whole travel and back")
    wait_for(page, "#work-now", "Not begun")
    assert "elsewhere" not in words(page, "#work-who")
    page.get_by_role("button", name="Go on").click()
    wait_for(page, "#work-now", "stands still")
    wait_for(page, "#found-verdict", "Fit to scan, with something to do again")
    found = words(page, "#found-lines")
    assert found.startswith("simulated-rail is fit to scan, but not to the micrometre")
    assert "noise of one reading" in found
    assert "--yes" not in found  # it drove
    wait_for(page, "#told", "Check of the rig: Fit to scan")
    page.reload()
    wait_for(page, "#found-title", "Check of the rig")
    assert words(page, "#found-lines") == found


@pytest.mark.campaign
def test_the_rail_is_measured_by_a_straightedge(daemon: Daemon, new_page: NewPage) -> None:
    page = new_page(daemon.url)
    wait_for(page, "#rail-age", "Not measured yet.")
    page.get_by_label("The straightedge's own error").fill("flat")
    page.get_by_role("button", name="Measure the rail").click()
    wait_for(page, "#ready-fault", "is no number")
    page.get_by_label("The straightedge's own error").fill("0,4")
    page.get_by_text("Hands", exact=True).click()
    page.get_by_role("button", name="Lay the straightedge on the rig").click()
    wait_for(page, "#rig-hands", "On the rig: the straightedge")
    page.get_by_role("button", name="Measure the rail").click()
    wait_for(page, "#question", "The straightedge lies along the rail")
    page.get_by_role("button", name="Go on").click()
    wait_for(page, "#found-verdict", "Measured and kept")
    assert "The rail is mapped from" in words(page, "#found-lines")
    wait_for(page, "#rail-age", "Measured today.")
    daemon.ask("simulated", {"do": "lay", "what": "neck"}).raise_for_status()


def test_a_tab_that_nobody_sees_lets_go_and_is_told_what_it_missed(
    daemon: Daemon, new_page: NewPage
) -> None:
    page = new_page(daemon.url)
    wait_for(page, "#state", "ready")
    until(page, lambda: daemon.ask("health").json()["clients"] == 1)
    page.evaluate(HIDE, True)
    until(page, lambda: daemon.ask("health").json()["clients"] == 0)
    work = daemon.ask("work", {"kind": "calibrate lag"}).json()
    daemon.ask(f"questions/{work['question']['id']}", {"answer": "stop"}).raise_for_status()
    until(page, lambda: daemon.ask("state").json()["work"] is None)
    assert words(page, "#told") == ""
    page.evaluate(HIDE, False)
    wait_for(page, "#told", "Measurement of the lag: not begun.")
    assert "Not connected" not in words(page, "#told")
    page.locator("#question").wait_for(state="hidden")
