"""The report and the cut sheet on paper: pages counted, nothing cut off, nothing runs."""

# ruff: noqa: F811 (fixtures that other tests made)

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from daq.report.page import report_html
from daq.report.record import ReportInput
from daq.report.sheet import sheet_html

from ..daq.conftest import bench, plain_shape, plan, six, strung, twelve, unstrung  # noqa: F401
from ..daq.report.conftest import sized  # noqa: F401
from ..daq.report.decided_neck import decided

PAPERS = ("A4", "Letter")
#: Room between the margins of either paper, px: nothing may be wider.
WIDTHS = {"A4": 210.0 - 24.0, "Letter": 215.9 - 24.0}
PX_PER_MM = 96.0 / 25.4


@pytest.fixture
def paper(browser: Browser, tmp_path: Path) -> Iterator[Callable[[str], Page]]:
    """paper(html): it, opened from a file in a browser that runs no scripts."""
    context = browser.new_context(java_script_enabled=False)

    def opened(html: str) -> Page:
        path = tmp_path / "page.html"
        path.write_text(html, encoding="utf-8")
        page = context.new_page()
        page.goto(path.as_uri())
        return page

    yield opened
    context.close()


@pytest.fixture
def given(sized: Any) -> ReportInput:
    return decided(sized(6, 22))


def _pages(page: Page, paper: str, background: bool = True) -> int:
    data = page.pdf(format=paper, print_background=background)
    return len(re.findall(rb"/Type\s*/Page\b", data))


@pytest.mark.parametrize("size", PAPERS)
def test_the_first_page_is_one_sheet(
    paper: Callable[[str], Page], given: ReportInput, size: str
) -> None:
    """What comes after it away, it takes one."""
    html = report_html(given)
    first = html.split('class="first"')[1].split("</section>")[0]
    alone = f'{html.split("<body>")[0]}<body><main><section class="first"{first}</section></main>'
    page = paper(f"{alone}</body></html>")
    assert page.locator("svg").count() == 2
    assert _pages(page, size) == 1


@pytest.mark.parametrize("size", PAPERS)
def test_the_report_prints_whole(
    paper: Callable[[str], Page], given: ReportInput, size: str
) -> None:
    whole = replace(given, filed=given.unstrung, ended=given.strung)
    page = paper(report_html(whole))
    assert 8 <= _pages(page, size) <= 26


@pytest.mark.parametrize("size", PAPERS)
def test_a_cut_sheet_of_a_few_frets_is_two_pages_at_the_most(
    paper: Callable[[str], Page],
    six: Any,
    plan: Any,
    bench: Any,
    size: str,
) -> None:
    sheet = ReportInput("job", six, "neckform", "2025-11-25T10:00:00", plan=plan, bench=bench)
    page = paper(sheet_html(sheet))
    assert 1 <= _pages(page, size) <= 2
    assert _pages(page, size, background=False) == _pages(page, size)


@pytest.mark.parametrize(
    ("neck", "size"),
    [
        ((6, 22), "Letter"),
        ((12, 36), "A4"),
        pytest.param((6, 22), "A4", marks=pytest.mark.campaign),
        pytest.param((12, 36), "Letter", marks=pytest.mark.campaign),
    ],
    ids=str,
)
def test_nothing_is_wider_than_the_paper(
    paper: Callable[[str], Page],
    sized: Any,
    neck: tuple[int, int],
    size: str,
) -> None:
    page = paper(report_html(decided(sized(*neck))))
    page.emulate_media(media="print")
    width = WIDTHS[size] * PX_PER_MM
    page.set_viewport_size({"width": int(width), "height": 1000})
    for kind in ("table", "svg", "h2", "li"):
        for box in (one.bounding_box() for one in page.locator(kind).all()):
            assert box is None or box["x"] + box["width"] <= width + 1.0, kind


@pytest.mark.parametrize("width", [pytest.param(1280, marks=pytest.mark.campaign), 390])
def test_on_a_screen_only_pictures_and_tables_scroll_aside(
    paper: Callable[[str], Page],
    sized: Any,
    width: int,
) -> None:
    page = paper(report_html(decided(sized(12, 24))))
    page.set_viewport_size({"width": width, "height": 900})
    box = page.locator("body").bounding_box()
    assert box is not None
    for kind in ("p", "li", "h1", "h2", "h3", "figure", ".wide"):
        for one in page.locator(kind).all():
            found = one.bounding_box()
            assert found is None or found["x"] + found["width"] <= width + 1.0, kind
