"""What is said of a rod: where it stands, what it does and gave, what keeps it unlearnt."""

from __future__ import annotations

import io
import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.plan.plan import Plan
from analysis.rod.learnt import LearntRod, TurnSeen
from analysis.rod.rod import Rod, default_rod, relief_cases, same_action
from daq.documents.rod import rod_document
from daq.reading.rod import JobRod, RodPart, SincePlan, StateRod
from daq.reading.settings import RodSetting
from daq.text.assumptions import assumptions
from daq.text.console import make_console
from daq.text.rod import not_learnt_line, print_rod, rod_sentences
from daq.text.rod_words import (
    by_what,
    rod_part_sentence,
    setting_sentence,
    setting_words,
    since_plan_sentence,
)
from daq.text.setup import rod_sentences as setup_rod_sentences

GOLDEN = Path(__file__).parent / "golden"
NAN = float("nan")


@pytest.fixture
def learnt(six: Instrument) -> LearntRod:
    """0.222 mm a turn, even, along the tangent."""
    x = six.fret_x_mm(np.arange(1.0, 23.0)[:, None], six.string_numbers[None, :])
    _, follows = relief_cases(six, x)
    rod = Rod(same_action([follows], six, x), (follows,), 0.222, 0.014, 0.9, learnt=True)
    seen = (TurnSeen(0.0, 0.25, -0.0555, 0.0003),)
    u_tops = np.full(x.shape, 0.004)
    return LearntRod(rod, seen, u_tops, 0.006, 0.003, 0.01, 0.02, 1.01, 0.02, None, 0)


def state(learnt: LearntRod, name: str = "strung") -> StateRod:
    files = [(Path(f"00{n}-{name}.h5"), Path(f"00{n + 3}-{name}.h5")) for n in (1, 4)]
    return StateRod(name, tuple(files[: len(learnt.seen)]), learnt)


def sentences(learnt: LearntRod, six: Instrument, name: str = "strung") -> str:
    return " ".join(rod_sentences(state(learnt, name), six))


def test_the_page(six: Instrument, learnt: LearntRod, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    stream = io.StringIO()
    best = state(learnt)
    print_rod(make_console(stream), JobRod((best,), ()), best, six)
    text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / "rod.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def test_the_document_is_whole(six: Instrument, learnt: LearntRod) -> None:
    best = state(learnt)
    got = json.loads(json.dumps(rod_document("j", JobRod((best,), ())), allow_nan=False))
    assert got["learnt"] is True
    assert got["status"] == "ok"
    assert (got["mm_per_turn"], got["u_mm_per_turn"]) == (0.222, 0.014)
    assert got["linear"] is None
    assert got["turns"] == [
        {
            "state": "strung", "before": "001-strung.h5", "after": "004-strung.h5",
            "from_turns": 0.0, "to_turns": 0.25, "relief_change_mm": -0.0555,
            "u_relief_change_mm": 0.0003,
        }
    ]  # fmt: skip
    # tightening lifts the middle of the neck
    eighth = next(one for one in got["shape"] if (one["fret"], one["string"]) == (8, 1))
    tops = learnt.rod.cases[0].tops[7, 0]
    assert eighth["dz_mm"] == pytest.approx(-0.222 * tops, abs=1e-4)
    assert eighth["dz_mm"] > 0.0
    u = np.hypot(0.222 * 0.004, tops * 0.014)
    assert eighth["u_dz_mm"] == pytest.approx(u, abs=1e-5)
    assert len(got["shape"]) == 22 * 6


def test_a_document_without_a_rod_says_why(six: Instrument) -> None:
    got = rod_document("j", JobRod((), ()))
    assert got["learnt"] is False
    assert got["mm_per_turn"] is None
    assert "two settings" in got["status"]
    assert rod_document("j", JobRod((), ("a: slack",)))["status"] == "a: slack"


def test_what_a_turn_shows_besides(six: Instrument, learnt: LearntRod) -> None:
    assert "a third setting would" in sentences(learnt, six)
    assert "Its turns do alike" in sentences(replace(learnt, agree=0.4), six)
    assert "slack there" in sentences(replace(learnt, slack=1), six)
    assert "stick and jump" in sentences(replace(learnt, agree=0.001), six)
    assert "Unstrung scans" in sentences(learnt, six, "unstrung")
    assert "bends the neck unevenly" in sentences(replace(learnt, uneven=0.3), six)
    assert "the body does not follow" in sentences(replace(learnt, follows=0.05), six)
    assert "move by 0.500 ± 0.040" in sentences(replace(learnt, follows=0.5), six)
    assert "Past fret" not in sentences(replace(learnt, follows=NAN, u_follows=NAN), six)
    assert "twists the neck by +0.30 ± 0.04 mrad" in sentences(
        replace(learnt, twist_mrad_per_turn=0.3), six
    )
    assert "no more than 0.05 mrad" in sentences(learnt, six)


def test_where_it_stands() -> None:
    assert setting_words(0.0) == "as it was when the job was opened"
    assert setting_words(0.25) == "0.25 turn tighter than when the job was opened"
    assert setting_words(-1.5) == "1.50 turns looser than when the job was opened"
    said = setting_sentence(RodSetting(0.25, 0.0, None))
    assert said == "The rod stands 0.25 turn tighter than when the job was opened."
    taken = setting_sentence(RodSetting(0.25, 0.25, Path("003-strung.h5")))
    assert "as in 003-strung.h5: nothing else was said" in taken
    assert "--rod TURNS" in taken


def test_what_it_gave_since_a_plan() -> None:
    since = SincePlan("001.json", 0.25, -0.0555, 0.0003, -0.1, 0.025)
    assert since_plan_sentence(since) == (
        "Since plan 001 the rod was tightened by a quarter turn: it gave -0.056 ± 0.001 mm of "
        "relief; -0.100 ± 0.050 mm was expected."
    )
    assert "loosened by half a turn" in since_plan_sentence(replace(since, turns=-0.5))


def test_two_settings_compared() -> None:
    said = rod_part_sentence("3.h5", "2.h5", RodPart(0.25, -0.1, 0.025, learnt=False))
    assert "\n" not in said
    assert "0.25 turn tighter in the first" in said
    assert "-0.100 ± 0.050 mm of relief is the rod's (by the default effect of a rod)" in said
    learnt = rod_part_sentence("3.h5", "2.h5", RodPart(-0.25, 0.05, 0.003, learnt=True))
    assert "looser" in learnt
    assert "as it was learnt" in learnt


def test_what_to_do_where_it_is_not_learnt() -> None:
    said = not_learnt_line("old one", JobRod((), ()))
    assert said.endswith('neckform scan "old one" --rig RIG.yaml --state strung --rod 0.25')
    assert "\n" not in said
    assert not_learnt_line("j", JobRod((), ("a and b: slack",))) == "job j: a and b: slack"


def test_a_plan_says_by_what_it_turns(six: Instrument, plan: Plan, learnt: LearntRod) -> None:
    by_learnt = replace(plan, rod=learnt.rod)
    assert "turn by the default effect of a rod" in " ".join(setup_rod_sentences(plan))
    assert "turn by what this rod did" in " ".join(setup_rod_sentences(by_learnt))
    assert by_what(default_rod(six, np.ones((22, 6)) * np.arange(1.0, 23)[:, None])) != by_what(
        learnt.rod
    )
    assert "0.4 mm of relief: a default" in " ".join(assumptions(plan, six))
    said = " ".join(assumptions(by_learnt, six))
    assert "takes out 0.222 ± 0.028 mm of relief, learnt" in said
    assert "default" not in said
