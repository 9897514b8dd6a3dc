from __future__ import annotations

from dataclasses import replace

import pytest

from daq.archive.pictures import instrument_pictures, rig_pictures
from daq.archive.rig_years import rig_years
from daq.archive.years import instrument_years
from daq.report.years import YearsPage, years_html

from ..drawn import Drawing, drawings_of
from .test_years import at, read


def page_of(pictures: object) -> str:
    return years_html(
        YearsPage("Instrument", "<b>&", "about", ["said"], pictures, "all", ["a"], [["1"]])  # type: ignore[arg-type]
    )


def drawn(spans: list[str]) -> list[Drawing]:
    scans = [at(f"{made}{state}", made, state=state, noise_um=1.5 + 0.1 * n, lost=0.01, damaged=0.0)
             for n, made in enumerate(spans) for state in ("strung", "unstrung")]  # fmt: skip
    readings = [read(scan.url, 100.0, 10.0 + n, 3.0) for n, scan in enumerate(scans)]
    pictures = instrument_pictures(instrument_years("x", scans, readings))
    pictures += rig_pictures(rig_years("y", scans))
    return drawings_of(page_of(pictures))


SPANS = {
    "one day": ["2024-05-03"],
    "weeks": ["2024-05-03", "2024-05-20", "2024-06-02"],
    "over new year": ["2023-11-03", "2024-02-20", "2024-08-02"],
    "years": ["2015-01-01", "2019-06-01", "2024-12-31"],
    "decades": ["1995-01-01", "2010-06-01", "2026-12-31"],
}


@pytest.mark.parametrize("span", SPANS)
def test_words_never_meet_and_stay_inside(span: str) -> None:
    found = drawn(SPANS[span])
    assert len(found) == 5
    for one in found:
        texts = one.texts()
        for number, text in enumerate(texts):
            assert not any(text.meets(other) for other in texts[number + 1 :]), text
            assert text.left >= 0.0
            assert text.right <= one.size[0]
            assert text.bottom <= one.size[1]


def test_axes_say_what_and_in_which_unit() -> None:
    found = drawn(SPANS["years"])
    units = ["relief in mid-board, µm", "deepest wear, µm", "noise, µm", "lost, %", "damaged, ppm"]
    for one, unit in zip(found, units, strict=True):
        assert unit in one.words()
        assert "date of the scan" in one.words()
        assert {"2016", "2020"} <= set(one.words())


def test_states_are_told_apart_by_more_than_colour() -> None:
    relief = drawn(SPANS["years"])[0]
    for kind in ("dot-strung", "bar-strung", "line-strung", "dot-unstrung", "bar-unstrung",
                 "line-unstrung", "hole"):  # fmt: skip
        assert relief.paths(kind)
    assert {"strung", "unstrung"} <= set(relief.words())


def test_months_are_named_where_years_would_say_nothing() -> None:
    assert {"May 2024", "Jun 2024"} <= set(drawn(SPANS["weeks"])[0].words())
    assert {"Jan 2024", "Jul 2024"} <= set(drawn(SPANS["over new year"])[0].words())


def test_what_is_not_known_is_not_drawn() -> None:
    scans = [at("a", "2024-01-01", lost=0.1)]
    readings = [replace(read("a", 0.0, 5.0), relief_um=None)]
    titles = [one.title for one in instrument_pictures(instrument_years("x", scans, readings))]
    assert titles == ["Wear"]
    assert [one.title for one in rig_pictures(rig_years("y", scans))] == ["Lost samples"]
    assert instrument_pictures(instrument_years("x", [], [])) == []


def test_the_page_is_whole_and_escaped() -> None:
    page = page_of(instrument_pictures(instrument_years("x", [at("a", "2024-01-01")],
                                                        [read("a", 1.0, 1.0)])))  # fmt: skip
    assert "<b>&<" not in page
    assert "&lt;b&gt;&amp;" in page
    for loaded in ("<script", "<link", "<img", "http://", "https://", "url("):
        assert loaded not in page
