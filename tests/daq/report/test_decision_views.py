"""What the report's pictures say of the decision: numbers read back from what is drawn."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.plan.doubts import Hanging, Suspect, Touch
from analysis.rod.learnt import LearntRod, TurnSeen
from daq.figures.axes import LEFT, RIGHT, WIDTH
from daq.figures.stringview import near
from daq.figures.svg import TEXT
from daq.figures.tightstrings import telling
from daq.reading.doubts import DoubtedFret, DoubtedTop, Doubts
from daq.reading.rod import StateRod
from daq.report.page import report_html
from daq.report.record import ReportInput

from .decided_neck import MOST_CUT, PLANNED_MM, WORST, decided, tight, undecided


@pytest.fixture
def given(sized: Any) -> ReportInput:
    return decided(sized(6, 22))


@pytest.fixture
def page(given: ReportInput) -> str:
    return report_html(given)


def _corners(d: str) -> list[tuple[float, float, float, float]]:
    """Boxes of a path: left, top, width, height."""
    found = re.findall(r"M([\d.-]+?) ?(-?[\d.]+)h([\d.]+)v([\d.]+)h", d)
    return [(float(a), float(b), float(c), float(e)) for a, b, c, e in found]


def test_the_string_that_touches_comes_first_then_the_one_that_is_cut_most(
    given: ReportInput, one: Any
) -> None:
    assert given.tight is not None
    order = telling(given.tight.each)
    assert [each.string for each in order[:2]] == [WORST, MOST_CUT]
    page = report_html(given)
    large = re.findall(r"aria-label=\"(String \d+ fretted at 2), from close by", page)
    assert large == [f"String {WORST} fretted at 2", f"String {MOST_CUT} fretted at 2"]
    words = one(page, "The other strings").words()
    assert [w for w in words if w.startswith("String")] == [
        f"String {s} fretted at 2" for s in (1, 3, 5, 6)
    ]


def test_a_cut_is_drawn_as_high_as_the_heights_are(page: str, one: Any) -> None:
    drawing = one(page, f"String {MOST_CUT} fretted at 2, from")
    at = {t.text: t.bottom for t in drawing.texts() if re.fullmatch(r"-?0(\.\d+)?", t.text)}
    lowest = min(at, key=float)
    per_mm = (at[lowest] - at["0"]) / -float(lowest)
    (removed,) = _corners(drawing.paths("removed")[0])
    assert removed[3] == pytest.approx(0.02 * per_mm, abs=0.15)


def test_heights_say_how_much_larger_they_are_drawn(given: ReportInput, one: Any) -> None:
    assert given.tight is not None
    seen = near(tight(given.tight.before, WORST), 150.0, LEFT, WIDTH - RIGHT, 0.0)
    x, y = seen.frame.x, seen.frame.y
    larger = (y.at(0.0) - y.at(1.0)) / (x.at(1.0) - x.at(0.0))
    head = one(report_html(given), f"String {WORST} fretted at 2, from").words()
    said = next(float(re.search(r"heights (\d+) times", w)[1]) for w in head if "times" in w)  # type: ignore[index]
    assert said == pytest.approx(larger, rel=0.05)


def test_what_touches_now_is_crossed_and_told_with_its_doubt(page: str, one: Any) -> None:
    touching = one(page, f"String {WORST} fretted at 2, from")
    (cross,) = touching.paths("touches")
    assert cross.count("M") == 1
    words = {t.text: t.bottom for t in touching.texts()}
    # it stands in the field, under what is told of it
    top = float(re.match(r"M[\d.]+ ([\d.]+)", cross)[1])  # type: ignore[index]
    assert top > words["after, fret 3: 0.030 ± 0.010 mm to spare"] + 5.0
    assert "now, fret 4: 0.015 ± 0.010 mm short" in touching.words()
    assert "after, fret 3: 0.030 ± 0.010 mm to spare" in touching.words()
    assert one(page, f"String {MOST_CUT} fretted at 2, from").paths("touches") == []


def test_a_top_nobody_saw_is_left_out_of_the_side_view(page: str, one: Any) -> None:
    """Fret 4 under string 2."""
    assert one(page, f"String {WORST} fretted at 2, nut").paths("post")[0].count("M") == 21
    assert one(page, f"String {MOST_CUT} fretted at 2, nut").paths("post")[0].count("M") == 22


def test_without_a_plan_only_the_neck_as_it_is_is_drawn(sized: Any, one: Any) -> None:
    page = report_html(undecided(sized(6, 22)))
    drawing = one(page, f"String {WORST} fretted at 2, from")
    assert drawing.paths("removed") == drawing.paths("was") == []
    assert not any(word.startswith("after") for word in drawing.words())
    assert drawing.paths("touches")


def test_bars_are_in_scale_and_cut_off_with_an_arrow(page: str, one: Any) -> None:
    drawing = one(page, "Metal in all")
    bars = [c for d in drawing.paths("q3") for c in _corners(d)]
    # less action, more, more still, the best string, force twice, player, rod, kept, freed
    assert len(bars) == 10
    per_mm = bars[0][2] / 0.5
    assert bars[1][2] == pytest.approx(0.12 * per_mm, abs=0.3)
    words = drawing.words()
    assert "0.1 mm more action on string 1 alone" in words
    assert "0.1 mm more action on string 6 alone" not in words
    assert words.count("no plan meets everything") == 2
    longest = max(width for _, _, width, _ in bars)
    assert bars[5][2] == longest
    arrows = [d for d in drawing.paths("q3") if d.endswith("z") and "h" not in d]
    assert len(arrows) == 1


def test_the_plan_s_metal_has_its_doubt(page: str, one: Any, given: ReportInput) -> None:
    assert given.plan is not None
    words = one(page, "Metal in all").words()
    assert any(re.fullmatch(r"[\d.]+ (µm|mm) ± 20 µm", word) for word in words)
    assert one(page, "Metal in all").paths("whisker")


def test_what_uncertainty_costs_is_drawn_where_it_is_worth_it(page: str, one: Any) -> None:
    words = one(page, "Metal in all").words()
    assert "string heights to 0.01 mm, not 0.02" in words
    assert f"{1e3 * (PLANNED_MM - 0.12):.0f} µm: 120 µm less" in words
    assert "the strings' tension known" not in words


def test_dressings_left_stand_on_each_fret(page: str, one: Any) -> None:
    drawing = one(page, "How many more such dressings")
    texts = [t for t in drawing.texts() if t.left > 62.0]
    foot = max(t.bottom for t in texts if t.text == "22")
    frets = {t.text: t.left + t.right for t in texts if t.bottom == foot}
    said = {t.text: t.left + t.right for t in texts if t.bottom < foot}
    for number, fret in (("0", "5"), ("4", "3"), ("–", "2")):
        assert said[number] == pytest.approx(frets[fret], abs=0.2)
    assert len([c for d in drawing.paths("buzzes") for c in _corners(d)]) == 1
    # the cut one stands out, the unknown one has no bar
    assert len([c for d in drawing.paths("q3") for c in _corners(d)]) == 1
    assert len([c for d in drawing.paths("q1") for c in _corners(d)]) == 22 - 3


def test_frets_and_tops_in_doubt_are_marked_on_the_cuts(given: ReportInput, one: Any) -> None:
    assert given.plan is not None
    fret, string = (int(n) + 1 for n in np.argwhere(given.plan.remove_mm > 0)[0])
    none = Touch(float("inf"))
    hanging = Hanging(fret, string, 0.02, 0.003, none, none, 0.0)
    doubts = Doubts(
        frets=(DoubtedFret(9, "loose", ()), DoubtedFret(12, "unlike", ())),
        tops=(DoubtedTop(Suspect(fret, string, "inferred"), hanging),),
    )
    doubts = replace(doubts, frets=tuple(replace(f, hanging=(hanging,)) for f in doubts.frets))
    page = report_html(replace(given, doubts=doubts))
    drawing = one(page, "The cut plan")
    assert {"9~", "12?"} <= set(drawing.words())
    assert drawing.words().count("?") == 1
    said = drawing.root.findtext("desc") or ""
    assert "~ beside a fret: looks loose" in said
    assert "? a top in doubt" in drawing.words()
    assert "beside a fret" not in (one(report_html(given), "The cut plan").root.findtext("desc"))


def test_what_is_in_the_way_is_on_the_map_and_the_cures_come_cheapest_first(
    sized: Any, one: Any
) -> None:
    page = report_html(undecided(sized(6, 22)))
    drawing = one(page, "What is in the way")
    words = drawing.words()
    assert words.count("50") == 1
    assert words.count("40") == 1
    assert words.count("!") == 1
    assert words.count("=") == 1
    assert "7✕" in words
    cures = unescape(page.split("<h3>What would cure it</h3>")[1].split("</ul>")[0])
    said = re.findall(r"<li>(.*?)</li>", cures)
    assert said[0].startswith("Replace fret 7")
    metals = [int(n) for n in re.findall(r"(\d+) µm of metal", cures)]
    assert metals == sorted(metals) == [212, 900]


def test_bends_say_where_and_how_far(page: str, one: Any) -> None:
    drawing = one(page, "How far each string may be bent, after")
    words = drawing.words()
    assert {"0", "!", "1.5", "?", "0.5"} <= set(words)
    assert len(_corners(drawing.paths("undecided")[0])) >= 1
    assert words.count("4") == 21 * 6 - 3 + 2


def test_achieved_against_planned_lies_where_it_should(page: str, one: Any) -> None:
    drawing = one(page, "Planned against achieved")
    assert sum(d.count("M") for d in drawing.paths("sign-edge")) == 16
    texts = drawing.texts()
    up = {t.text: t.bottom - 0.2 * TEXT - 5.0 for t in texts if t.right < 62.0 and t.text.isdigit()}
    per_um = (up["0"] - up["20"]) / 20.0
    middles = [(float(x), float(y)) for x, y in re.findall(r"M([\d.]+) ([\d.]+)", "".join(
        d for d in drawing.paths("whisker") if "V" not in d and "l" in d))]  # fmt: skip
    # bars begin at their lower end: twice the standard uncertainty below what came off
    assert middles[0][1] == pytest.approx(up["0"] - per_um * (5.5 - 2.4), abs=0.3)
    assert drawing.paths("band-strung")
    assert len(drawing.paths("line-strung")) == 1


def test_the_law_is_drawn_over_the_depths_it_has_seen(given: ReportInput, one: Any) -> None:
    drawing = one(report_html(given), "Planned against achieved")
    start = float(re.match(r"M([\d.]+)", drawing.paths("line-strung")[0])[1])  # type: ignore[index]
    at = {t.text: 0.5 * (t.left + t.right) for t in drawing.texts() if t.left > 60.0}
    per_um = (at["40"] - at["20"]) / 20.0
    assert start == pytest.approx(at["20"] - 17.0 * per_um, abs=0.2)
    without = report_html(replace(given, law=None))
    assert one(without, "Planned against achieved").paths("line-strung") == []


def test_the_strung_end_is_told_with_and_without_cuts(given: ReportInput, one: Any) -> None:
    page = report_html(given)
    assert len(re.findall("h0", one(page, "Relief of the strung").paths("dot-strung")[0])) == 6
    assert one(page, "Room under the strings now").paths("clear")
    page = report_html(replace(given, cuts=(), law=None))
    assert one(page, "Relief of the strung")
    assert "Planned against achieved" not in page


def test_a_rod_that_was_learnt_is_told(given: ReportInput) -> None:
    assert given.plan is not None
    rod = replace(given.plan.rod, mm_per_turn=0.222, u_mm_per_turn=0.015, learnt=True)
    seen = (TurnSeen(0.0, 0.25, -0.0555, 0.0003),)
    u = np.full((22, 6), 0.004)
    learnt = LearntRod(rod, seen, u, 0.006, 0.003, 0.01, 0.02, 1.01, 0.02, None, 0)
    scans = ((Path("001-strung.h5"), Path("004-strung.h5")),)
    plan = replace(given.plan, rod=rod)
    page = report_html(replace(given, plan=plan, rod=StateRod("strung", scans, learnt)))
    told = page.split("<h3>The truss rod of this neck</h3>")[1].split("</ul>")[0]
    assert "Strung scans say so" in told
    assert "0.222 ± 0.030 mm of relief, learnt from this neck" in page
    assert "The truss rod of this neck" not in report_html(given)


def _first(page: str) -> str:
    return unescape(page.split('class="first"')[1].split("</section>")[0])


def test_the_first_page_says_found_done_and_what_to_expect(given: ReportInput) -> None:
    first = _first(report_html(given))
    assert re.findall(r"<h2>(.*?)</h2>", first) == ["Found", "Done", "To expect"]
    assert "µm of metal came off" in first
    assert 'aria-label="Room under the strings now"' in first


def test_the_first_page_of_a_neck_without_a_plan(sized: Any) -> None:
    first = _first(report_html(undecided(sized(6, 22))))
    assert 'aria-label="What is in the way"' in first
    assert "Replace fret 7" in first
    assert "To expect" not in first


def test_doubts_stand_on_the_first_page_and_with_the_work(given: ReportInput) -> None:
    page = report_html(replace(given, doubts=Doubts(remarks=("a calibration of last year",))))
    assert "A calibration of last year" in _first(page).split("<svg")[0]
    assert "A calibration of last year" in page.split("<h3>In doubt</h3>")[1].split("</ul>")[0]


def test_a_plan_that_would_not_come_out_again_says_so(given: ReportInput) -> None:
    page = report_html(replace(given, plan_same=False))
    assert "Calibrations have changed since the plan" in _first(page)
    assert "made by another program, or calibrations have changed" in page
    assert "not surely clear" in page


def test_older_records_leave_their_figures_out(sized: Any) -> None:
    page = report_html(sized(6, 22))
    for title in ("Where each string has least room", "Metal in all, and", "may be bent, after"):
        assert title not in page
