"""Words for numbers, lists, turns and steps."""

from __future__ import annotations

import numpy as np
import pytest

from daq.text.cuts import cut_sentences
from daq.text.setup import up_to_step
from daq.text.words import fixed, listed, named, runs, signed, span_mm, turn_words


@pytest.mark.parametrize(
    ("numbers", "words"),
    [([], ""), ([4], "4"), ([2, 1], "1 and 2"), ([1, 2, 5, 6, 7], "1, 2 and 5 to 7")],
)
def test_runs(numbers: list[int], words: str) -> None:
    assert runs(numbers) == words


def test_named() -> None:
    assert named("string", [3]) == "string 3"
    assert named("string", [4, 3]) == "strings 3 and 4"
    assert named("fret", [5, 6, 7]) == "frets 5 to 7"
    assert listed(["a", "b", "c"]) == "a, b and c"


@pytest.mark.parametrize(
    ("turns", "words"),
    [
        (0.01, "less than an eighth of a turn"),
        (0.13, "an eighth of a turn"),
        (-0.25, "a quarter turn"),
        (0.5, "half a turn"),
        (1.0, "one turn"),
        (-1.38, "1 3/8 turns"),
        (2.0, "2 turns"),
    ],
)
def test_turns(turns: float, words: str) -> None:
    assert turn_words(turns) == words


def test_numbers() -> None:
    assert fixed(float("nan"), 2) == "-"
    assert fixed(-0.001, 2) == "0.00"
    assert signed(0.104, 2) == "+0.10"
    assert signed(-0.104, 2) == "-0.10"
    assert signed(0.001, 2) == "0.00"
    assert span_mm([0.031, 0.028]) == "0.03 mm"
    assert span_mm([0.002, 0.031]) == "up to 0.03 mm"
    assert span_mm([0.001]) == "less than 0.01 mm"


@pytest.mark.parametrize(
    ("exact", "step"), [(0.12, 0.12), (0.1201, 0.13), (-0.0523, -0.05), (0.00000001, 0.0)]
)
def test_screws_are_set_up_to_the_next_step(exact: float, step: float) -> None:
    assert up_to_step(exact) == pytest.approx(step)


def test_cut_sentences() -> None:
    removal = np.zeros((4, 6))
    removal[2, 2:4] = 31.0
    assert cut_sentences(removal) == [
        "Lower fret 3 under strings 3 and 4 by 0.03 mm.",
        "Frets 1, 2 and 4 stay.",
    ]
    assert cut_sentences(np.zeros((2, 6))) == ["No metal comes off: every fret stays as it is."]
