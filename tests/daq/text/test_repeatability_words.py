"""What a person reads of repeatability and of a budget, pinned; and the sentences that depend."""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.neck.budgets import Budgets, shape_budgets
from analysis.neck.shape import Shape
from analysis.repeats.repeatability import Repeatability, Scatter
from calibration.uncertainty.anova import OneWay
from calibration.uncertainty.budget import Term, combine
from calibration.uncertainty.gauge import GaugeStudy, Line
from daq.documents.calibration_repeatability import repeatability_answer
from daq.steps.calibrate_repeatability import RepeatabilityFound
from daq.text.budget import budget_rows, budget_sentences, print_budget
from daq.text.calibration_repeatability import (
    clamping_sentence,
    gauge_sentence,
    noise_sentences,
    print_repeatability,
    stated_sentence,
)
from daq.text.console import make_console

GOLDEN = Path(__file__).parent / "golden"
TOPS = Scatter(OneWay(3, 3, 0.62e-6, 0.23e-6, 310.0), 0.89e-3, 0.6e-3)


@pytest.fixture
def found() -> RepeatabilityFound:
    seen = np.ones((22, 3), dtype=bool)
    seen[4, 1] = False
    each = np.where(seen, 0.5e-3, np.nan)
    worst = each.copy()
    worst[12, 0] = 1.24e-3
    line = Line(4, 1.0)
    gauge = GaugeStudy(line, line, line, line, 1e-5, False, 0.48e-3, 0.36e-3, 0.337)
    relief = Scatter(OneWay(3, 3, 0.2e-6, 0.27e-6, 18.0), 1.0e-3, 0.6e-3)
    study = Repeatability(TOPS, relief, gauge, seen, each, 0.5 * each, worst)
    top = [Term("tip", 0.65e-3), Term("noise", 0.31e-3), *TOPS.measured_terms]
    budgets = Budgets(
        combine([term for term in top if term.u > 0.0]),
        combine([Term("tip", 0.84e-3), Term("crown", 0.45e-3)]),
        0.7e-3,
    )
    scans = tuple(tuple(Path(f"scans/00{3 * c + s}.h5") for s in range(1, 4)) for c in range(3))
    return RepeatabilityFound(
        study, np.array([1.0, 3.0, 6.0]), budgets, Path("rail/repeatability.json"), scans, None
    )


@pytest.fixture
def pinned(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Prints into a text as into a pipe, and holds it against the pinned one."""
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)

    def pinned(name: str, show: Callable[..., None], *what: object) -> None:
        stream = io.StringIO()
        show(make_console(stream), *what)
        text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
        assert max(map(len, text.splitlines())) <= 80
        path = GOLDEN / f"{name}.txt"
        if os.environ.get("NECKFORM_GOLDEN") == "write":
            path.write_text(text, encoding="utf-8")
        assert text == path.read_text(encoding="utf-8")

    return pinned


def test_repeatability(pinned: Callable[..., None], found: RepeatabilityFound) -> None:
    pinned("repeatability", print_repeatability, found)


def test_budget(pinned: Callable[..., None], unstrung: Shape) -> None:
    pinned("budget", print_budget, shape_budgets(unstrung))


def test_a_budget_of_nothing() -> None:
    nothing = Budgets(None, None, np.nan)
    assert budget_rows(nothing) == [["together", "-", "-", "-", "-"]]
    assert not any("typical" in line for line in budget_sentences(nothing))


def _tops(between_um2: float, within_um2: float, stated_um: float = 0.89) -> Scatter:
    anova = OneWay(3, 3, 1e-6 * between_um2, 1e-6 * within_um2, 310.0)
    return Scatter(anova, 1e-3 * stated_um, 0.6e-3)


def test_clamping_is_told_by_its_chance() -> None:
    assert "variance came out negative" in clamping_sentence(_tops(0.1, 0.2))
    assert "does not show: chance alone would do as much once in" in clamping_sentence(
        _tops(0.24, 0.2)
    )
    assert "about every other time" in clamping_sentence(_tops(0.201, 0.2))
    assert clamping_sentence(_tops(0.4, 0.2)).endswith("less than once in 1000 times.")
    assert "do not unclamp" in clamping_sentence(_tops(2.0, 0.2))


def test_too_little_stated_says_what_to_do() -> None:
    assert stated_sentence(TOPS).endswith(
        "nothing speaks against it; more clampings would say more."
    )
    assert stated_sentence(_tops(0.3, 0.2, stated_um=5.0)).endswith(": it holds.")
    said = stated_sentence(_tops(1.0, 0.9, stated_um=0.5))
    assert "too little is stated" in said
    assert "plan with `guard` 1.9 times as large" in said


def test_scatter_past_noise_drift_and_crown_is_told() -> None:
    assert noise_sentences(TOPS) == []
    assert (
        "scatter by 0.95 µm; noise, drift and crown explain 0.60 µm"
        in noise_sentences(_tops(0.9, 0.9))[0]
    )


def test_a_perfect_gauge(found: RepeatabilityFound) -> None:
    still = replace(found.study.gauge, ev=0.0, av=0.0)
    assert gauge_sentence(still).endswith("(0.00 µm repeating, 0.00 µm clamping).")


def test_the_answer(found: RepeatabilityFound) -> None:
    answer = repeatability_answer(found)
    assert (answer["clampings"], answer["scans_each"], answer["tops_compared"]) == (3, 3, 65)
    assert answer["tops"]["s_r_um"]["s"] == pytest.approx(0.48, abs=5e-3)
    assert answer["tops"]["s_r_um"]["low"] < 0.48 < answer["tops"]["s_r_um"]["high"]
    assert answer["tops"]["stated_holds"]
    assert answer["relief"]["between_below_zero"]
    assert answer["relief"]["s_l_um"]["s"] == 0.0
    assert answer["gauge"]["categories"] == 791
    assert answer["budget"]["top"]["largest"] == "tip"
    assert [term["name"] for term in answer["budget"]["relief"]["terms"]] == ["tip", "crown"]
    assert answer["budget"]["relief"]["dof"] is None
    assert sum(t["share_percent"] for t in answer["budget"]["top"]["terms"]) == pytest.approx(100)
    no_relief = replace(found, study=replace(found.study, relief=None))
    assert repeatability_answer(no_relief)["relief"] is None
