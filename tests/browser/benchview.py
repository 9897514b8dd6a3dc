"""The job's view as a person uses it: steps, controls by their names, numbers as they stand."""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import quote

from playwright.sync_api import Locator, Page, Response, expect


class BenchView:
    """A job on a page."""

    def __init__(self, page: Page, job: str) -> None:
        self.page = page
        self.job = job

    def open(self) -> BenchView:
        """At the step that is next."""
        self.page.goto(f"{self.page.url.partition('#')[0]}#job/{quote(self.job)}")
        self.page.get_by_role("navigation", name="Steps of the job").get_by_role(
            "button"
        ).first.wait_for()
        return self

    def step(self, name: str) -> None:
        """Opens a step by its name, where it is not open already: that would begin it anew."""
        steps = self.page.get_by_role("navigation", name="Steps of the job")
        step = steps.get_by_role("button", name=re.compile(rf"^\W*{name}\b"))
        if step.get_attribute("aria-current") is None:
            step.click()

    def bench(self) -> BenchView:
        """The plan on the bench, drawn."""
        self.step("Plan")
        self.page.locator(".board svg").wait_for()
        return self

    def tab(self, name: str) -> None:
        """A group of controls."""
        self.page.get_by_role("tab", name=re.compile(name)).click()

    def field(self, name: str) -> Locator:
        """Where a control's number is typed."""
        return self.page.get_by_role("textbox", name=name, exact=True)

    def slider(self, name: str) -> Locator:
        return self.page.get_by_role("slider", name=f"{name}, slider", exact=True)

    def type_in(self, name: str, text: str) -> dict[str, Any]:
        """A number typed and entered; what the daemon answered."""
        with self.answered() as answer:
            self.field(name).fill(text)
            self.field(name).press("Enter")
        return dict(answer.value.json())

    def answered(self) -> Any:
        """Within it something is moved; its value is the daemon's answer."""
        return self.page.expect_response(_is_move)

    @property
    def cards(self) -> dict[str, str]:
        """The large numbers with their units."""
        found = self.page.locator(".card")
        return {
            one.locator(".what").inner_text(): " ".join(
                f"{one.locator('b').inner_text()} {one.locator('.unit').inner_text()}".split()
            )
            for one in found.all()
        }

    @property
    def rows(self) -> dict[str, list[float]]:
        """The table by string, as numbers."""
        rows = self.page.locator(".by-string tbody tr").all()
        return {
            row.locator("th").inner_text(): [
                _number(cell.evaluate("(cell) => cell.firstChild.data"))
                for cell in row.locator("td").all()
            ]
            for row in rows
        }

    @property
    def verdict(self) -> str:
        return self.page.locator(".verdict").inner_text()

    def settled(self, says: str) -> None:
        """Until the verdict says so."""
        expect(self.page.locator(".verdict")).to_contain_text(says)


def _is_move(response: Response) -> bool:
    return response.url.endswith("/asked") and response.request.method == "POST"


def _number(text: str) -> float:
    return float(text.strip().replace("−", "-").replace("+", ""))
