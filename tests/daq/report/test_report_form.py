"""Headings in order, tables that say what they are, one size for the largest neck."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest

from daq.report.page import report_html
from daq.report.record import ReportInput

from .decided_neck import decided, undecided

#: The largest a report may be, and what it is held to here.
MOST_BYTES = 700_000
STAGES = ("strung", "both", "infeasible", "planned", "ended")


def _at(stage: str, whole: ReportInput) -> ReportInput:
    ended = decided(whole)
    return {
        "strung": replace(whole, unstrung=None, wear=None, across=None, arcs={}, plan=None),
        "both": replace(whole, plan=None),
        "infeasible": undecided(whole),
        "planned": replace(ended, cuts=(), law=None, strung_end=None),
        "ended": replace(ended, filed=whole.unstrung, ended=whole.strung),
    }[stage]


@pytest.fixture(params=STAGES)
def page(request: pytest.FixtureRequest, sized: Any) -> str:
    return report_html(_at(request.param, sized(12, 24)))


def test_headings_go_down_one_step_at_a_time(page: str) -> None:
    levels = [int(level) for level in re.findall(r"<h([1-6])[ >]", page)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_table_has_a_caption_and_every_head_its_scope(page: str) -> None:
    assert page.count("<table") == page.count("<caption>") > 0
    heads = re.findall(r"<th[ >][^>]*>?", page)
    assert heads
    assert all("scope=" in head for head in heads)


def test_every_id_of_a_drawing_is_its_own(page: str) -> None:
    ids = re.findall(r' id="([^"]*)"', page)
    assert len(ids) == len(set(ids))


class _Loads(HTMLParser):
    """Fails at whatever would run, or be loaded."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag not in ("script", "link", "img", "iframe", "object", "embed", "base", "a")
        for key, value in attrs:
            assert not key.startswith("on")
            assert key not in ("src", "href", "xlink:href", "srcset", "data", "action", "style")
            assert "url(" not in (value or "")


def test_nothing_runs_and_nothing_is_loaded(page: str) -> None:
    _Loads().feed(page)
    assert not re.search(r"https?://|@import|url\(", page)


@pytest.mark.parametrize("sizes", [(6, 22), (12, 24), (12, 36)], ids=str)
def test_a_report_stays_far_under_six_megabytes(sizes: tuple[int, int], sized: Any) -> None:
    assert len(report_html(_at("ended", sized(*sizes))).encode()) < MOST_BYTES


def test_what_a_customer_reads_comes_before_the_drawer(page: str) -> None:
    assert page.count('class="drawer"') == 1
    before, drawer = page.split('class="drawer"')
    assert "From here on it is for the file drawer" in drawer
    assert "<h2>Rig and calibrations used</h2>" in before
    assert "<h2>The numbers</h2>" in drawer
    # no table by fret and string stands before it
    assert 'scope="colgroup"' not in before
    assert 'scope="colgroup"' in drawer
