"""What is no bending, in words: what, how much with twice its u, and what to do."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from analysis.findings.findings import Finding
from daq.text.findings import finding_sentences


def said(*of: Any) -> str:
    (sentence,) = finding_sentences([Finding(*of)], 6)
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


@pytest.mark.parametrize(
    ("of", "words"),
    [
        (
            ("loose fret", 9, None, 0.0204, 0.0004),
            (
                "Fret 9 stands 0.020 ± 0.001 mm higher strung",
                "it is loose",
                "Seat it",
                "before cutting",
            ),
        ),
        (("loose fret", 9, None, -0.0204, 0.0004), ("0.020 ± 0.001 mm lower strung",)),
        (
            ("loose end", 5, 1.5, 0.03, 0.0005),
            ("Fret 5, at its end by string 1, stands", "that end is"),
        ),
        (("loose end", 5, 5.5, 0.03, 0.0005), ("at its end by string 6",)),
        (
            ("one place", 5, 2.5, 0.015, 0.0005),
            (
                "Fret 5 between strings 2 and 3",
                "dirt lay there in the strung scan",
                "scan strung again",
            ),
        ),
        (("one place", 5, 3.0, -0.015, 0.0005), ("under string 3", "in the unstrung scan")),
        (
            ("step", 11, None, 0.02, 0.0005),
            ("From fret 11 on", "those up to fret 10", "a crack", "scan both states again"),
        ),
        (
            ("filed", None, None, 0.05, 0.001),
            ("lower in the unstrung scan than in the strung one", "filed", "Scan strung again"),
        ),
        (
            ("filed", None, None, -0.05, 0.001),
            ("lower in the strung scan than in the unstrung one", "Scan unstrung again"),
        ),
        (("unlike", None, None, 0.05, 0.001), ("do not belong together", "Scan both states again")),
        (
            ("capo", 3, None, np.nan, np.nan),
            ("Something lies over fret 3 in the strung scan", "capo", "scan strung again"),
        ),
        (("shifted", None, None, -0.21, 0.001), ("0.21 mm back along the rail", "allowed for")),
        (("raised", None, None, 0.5, 0.001), ("0.50 mm higher", "no height and no relief depends")),
        (("tilted", None, None, 0.5, 0.001), ("its body joint 0.50 mm up against fret 1",)),
        (("turned", None, None, -0.05, 0.001), ("string 1's edge 0.05 mm down against the other",)),
    ],
)
def test_each_kind(of: tuple[Any, ...], words: tuple[str, ...]) -> None:
    sentence = said(*of)
    for word in words:
        assert word in sentence


def test_what_lies_over_the_neck_comes_first_and_how_it_lay_last_each_in_one_sentence() -> None:
    first, second, third = finding_sentences(
        [
            Finding("shifted", None, None, 0.3, 0.001),
            Finding("turned", None, None, 0.05, 0.001),
            Finding("loose fret", 9, None, 0.02, 0.001),
            Finding("covered", 3, None, -0.6, 0.01),
            Finding("covered", 4, None, -0.6, 0.01),
        ],
        6,
    )
    assert "over frets 3 and 4 in the unstrung scan" in first
    assert "Fret 9" in second
    assert "0.30 mm further along the rail and string 1's edge 0.05 mm up" in third


def test_nothing_found_says_nothing() -> None:
    assert finding_sentences([], 6) == []
