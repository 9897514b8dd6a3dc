"""Before and after filing: both bars as high as what they stand for, each verdict by its sign."""

from __future__ import annotations

import re
from itertools import combinations
from typing import Any

import pytest

from analysis.after.verify import Cut
from daq.figures.compare import filed_picture

from ..drawn import drawings_of

CUTS = (
    Cut(3, 2, 40.0, 38.0, 1.5, "within"),
    Cut(4, 2, 20.0, 31.0, 1.5, "over"),
    Cut(5, 2, 20.0, 9.0, 1.5, "under"),
    Cut(22, 2, 6.0, float("nan"), float("nan"), "undecided"),
    Cut(3, 1, 99.0, 99.0, 1.0, "within"),
)


def _boxes(d: str) -> list[tuple[float, float, float]]:
    """Left, width, height of each."""
    found = re.findall(r"M([\d.-]+?) ?-?[\d.]+h([\d.]+)v([\d.]+)h", d)
    return [tuple(float(n) for n in one) for one in found]  # type: ignore[misc]


def test_bars_are_in_scale() -> None:
    picture = filed_picture(2, CUTS, 22)
    assert picture is not None
    (drawing,) = drawings_of(picture.svg)
    foot = {t.text: t.bottom for t in drawing.texts() if t.right < 62.0 and t.text.isdigit()}
    per_um = (foot["0"] - foot["20"]) / 20.0
    meant, came = _boxes(drawing.paths("meant")[0]), _boxes(drawing.paths("came-off")[0])
    assert [h for _, _, h in meant] == pytest.approx(
        [per_um * um for um in (40, 20, 20, 6)], abs=0.11
    )
    assert [h for _, _, h in came] == pytest.approx([per_um * um for um in (38, 31, 9)], abs=0.11)
    # one stands within the other, over its fret's number
    places = {t.text: 0.5 * (t.left + t.right) for t in drawing.texts() if t.bottom > foot["0"]}
    for fret, (left, wide, _), (inner, narrow, _) in zip("345", meant, came, strict=False):
        assert left + 0.5 * wide == pytest.approx(places[fret], abs=0.2)
        assert inner + 0.5 * narrow == pytest.approx(places[fret], abs=0.2)


def test_signs_and_amounts() -> None:
    picture = filed_picture(2, CUTS, 22)
    assert picture is not None
    words = drawings_of(picture.svg)[0].words()
    assert {"=", "!", "-", "?", "38", "31", "9", "–"} <= set(words)
    assert "99" not in words


def test_a_string_that_nothing_was_planned_for() -> None:
    assert filed_picture(3, CUTS, 22) is None


@pytest.mark.parametrize("frets", [12, 24, 36])
def test_words_lie_on_no_others(frets: int) -> None:
    verdicts: Any = ("within", "under", "over", "undecided")
    cuts = [
        Cut(n, 1, 100.0 + n, 100.0 + 3.0 * (n % 7) - 120.0 * (n == 9), 2.0, verdicts[n % 4])
        for n in range(1, frets + 1)
    ]
    picture = filed_picture(1, cuts, frets)
    assert picture is not None
    (drawing,) = drawings_of(picture.svg)
    for one, other in combinations(drawing.texts(), 2):
        assert not one.meets(other), (one, other)
    for text in drawing.texts():
        assert 0.0 <= text.left <= text.right <= drawing.size[0]
