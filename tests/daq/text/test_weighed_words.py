"""What each step buys, what uncertainty costs, how long frets last and what is in doubt."""

from __future__ import annotations

import io
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.findings.findings import Finding
from analysis.instrument import Instrument
from analysis.plan.doubts import Hanging, Suspect, Touch
from analysis.plan.holding import Holding
from analysis.plan.life import FretLife, Life, Spare
from analysis.plan.plan import Plan
from analysis.plan.price import Saving, UncertaintyPrice
from analysis.plan.sensitivity import Kind, Sensitivity, Step
from analysis.plan.slopes import Slopes
from analysis.plan.weighed import Weighed
from analysis.wear.loose import Loose
from daq.documents.doubts import doubts_document
from daq.documents.weighed import weighed_document
from daq.reading.doubts import DoubtedFret, DoubtedTop, Doubts
from daq.text.console import make_console
from daq.text.doubts import doubt_sentences, loose_notes
from daq.text.life import life_sentences
from daq.text.plan import print_plan
from daq.text.price import price_sentences
from daq.text.sensitivity import sensitivity_sentences
from daq.text.weighed import print_weighed

GOLDEN = Path(__file__).parent / "golden"
NAN, FAR = float("nan"), Touch(float("inf"))
ACTION = np.linspace(1.7, 2.2, 6)


def step(
    kind: Kind, metal_mm: float, by: float = 0.0, what: str = "", string: int | None = None
) -> Step:
    return Step(kind, by, what, string, bool(np.isfinite(metal_mm)), metal_mm, 0.25, ACTION)


STEPS = (
    step("action", NAN, -0.1), step("action", 0.082, 0.1), step("action", 0.031, 0.2),
    step("action", 0.0295, 0.3), step("string", 0.302, 0.1, string=1),
    step("string", 0.120, 0.1, string=2), step("force", 0.2, -0.05), step("force", 1.62, 0.05),
    step("fret", 0.304, -0.1), step("fret", 0.904, 0.1), step("profile", 0.0, what="gentle"),
    step("profile", NAN, what="hard"), step("free", 0.2, what="nut"),
    step("keep", 0.535, what="rod"), step("keep", 17.066, what="saddles"),
    step("rod", NAN, -0.25), step("rod", 0.619, 0.25),
)  # fmt: skip
HELD = (
    Holding(2, 0, False, 3, 0.092, 1.0), Holding(3, 5, False, 9, 0.042, 1.7),
    Holding(1, 4, True, 7, 0.025, 0.9), Holding(4, 4, False, 7, 0.005, 0.9),
)  # fmt: skip
STEEP = Slopes(np.array([-2.56, -2.1, 0, 0, 0, 0]), 14.7, 0.143)


@pytest.fixture
def buys() -> Sensitivity:
    return Sensitivity(step("plan", 0.304), 0.0034, STEPS, STEEP, HELD)


@pytest.fixture
def price() -> UncertaintyPrice:
    savings = (
        Saving("unstrung again", 0.0403, True), Saving("both again", 0.0706, True),
        Saving("heights", 0.1415, True, 0.01), Saving("rod", 0.004, True),
        Saving("everything", 0.2475, True),
    )  # fmt: skip
    return UncertaintyPrice(0.304, True, 0.02, savings)


@pytest.fixture
def lives() -> Life:
    frets = (
        FretLife(4, 1, 0.989, 0.0041, 0.3808, 0.104, 0.104, 3.66),
        FretLife(7, 2, 0.99, 0.0041, 0.3818, 0.0527, 0.0527, 7.24),
        FretLife(5, 1, 1.0, 0.0041, 0.3918, 0.0, 0.019, 20.6),
        FretLife(6, 1, 1.1, 0.0041, 0.4918, 0.0, 0.019, 25.9),
        FretLife(9, 0, NAN, NAN, NAN, 0.0, 0.019, NAN),
    )
    spares = (Spare(0, 0.0, 0.078, 0.0264, 0.25), Spare(1, 0.1, 0.052, -0.172, 0.5))
    return Life(frets, 0.019, False, 20.04, spares)


@pytest.fixture
def weighed(buys: Sensitivity, price: UncertaintyPrice, lives: Life) -> Weighed:
    return Weighed(buys, price, lives, {})


def hang(fret: int, string: int, cut_mm: float = 0.0, metal: float = 0.0) -> Hanging:
    return Hanging(
        fret, string, cut_mm, 0.012, Touch(0.017, 3, 8, 9), Touch(0.0051, 3, 9, 10), metal
    )


@pytest.fixture
def doubts() -> Doubts:
    across = tuple(hang(9, s, 0.031 if s in (3, 4) else 0.0) for s in range(1, 7))
    capo = Finding("capo", 5, None, 0.9, 0.02)
    tops = (
        DoubtedTop(Suspect(16, 2, "inferred"), hang(16, 2, 0.0072, 2.4)),
        DoubtedTop(Suspect(16, 1, "doubtful: the two ways disagree"), hang(16, 1, 0.0041)),
        DoubtedTop(Suspect(21, 6, "not seen"), Hanging(21, 6, 0.003, NAN, FAR, FAR, NAN)),
        DoubtedTop(Suspect(5, 1, "dent"), hang(5, 1)),
        DoubtedTop(Suspect(6, 1, "dent"), hang(6, 1)),
        DoubtedTop(Suspect(5, 2, "dent"), hang(5, 2)),
    )
    return Doubts(
        (DoubtedFret(5, "capo", (hang(5, 1, 0.01),)), DoubtedFret(9, "loose", across)),
        tops,
        (Loose(9, (3.0,), 0.0204, 0.0004, "strung and unstrung disagree"),),
        (capo,),
        ("rail: no error map; the carriage's own bow stands in every height",),
    )


def check(name: str, text: str) -> None:
    """The text is the pinned one, and fits."""
    lines = [line.rstrip() for line in text.splitlines()]
    assert max(map(len, lines)) <= 80
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert "\n".join(lines) + "\n" == path.read_text(encoding="utf-8")


def test_weighed(weighed: Weighed) -> None:
    stream = io.StringIO()
    print_weighed(make_console(stream, width=80), weighed, feasible=True, details=True)
    check("weighed", stream.getvalue())


def test_weighed_without_a_plan(buys: Sensitivity, price: UncertaintyPrice, lives: Life) -> None:
    none = replace(buys, plan=step("plan", NAN), u_metal_mm=NAN, holding=())
    savings = tuple(
        replace(one, saves_mm=NAN, feasible=one.what in ("heights", "everything"))
        for one in price.savings
    )
    cured = replace(price, feasible=False, savings=savings)
    stream = io.StringIO()
    weighed = Weighed(none, cured, lives, {})
    print_weighed(make_console(stream, width=80), weighed, feasible=False, details=True)
    check("weighed_infeasible", stream.getvalue())


def test_doubts_stand_before_the_cuts_and_on_them(
    doubts: Doubts, plan: Plan, six: Instrument
) -> None:
    stream = io.StringIO()
    print_plan(make_console(stream, width=80), plan, six, None, doubts)
    text = stream.getvalue()
    check("doubts", text[text.index("In doubt") : text.index("As it stands")])
    assert text.index("In doubt") < text.index("Cuts")
    cut = " ".join(text[text.index("Lower fret 9") :].split())
    assert cut.startswith(
        "Lower fret 9 under strings 3 and 4 by 0.03 mm - but it looks loose: seat it first, "
        "scan again, plan again."
    )
    assert "Lower fret 16 under strings 1 to 3 by up to 0.01 mm." in " ".join(text.split())


def test_nothing_in_doubt_says_nothing(plan: Plan, six: Instrument) -> None:
    stream = io.StringIO()
    print_plan(make_console(stream, width=80), plan, six)
    assert "In doubt" not in stream.getvalue()
    assert "but it" not in stream.getvalue()
    assert doubt_sentences(Doubts(), 6) == []
    assert loose_notes(Doubts()) == {}


def test_what_saves_nothing_is_said_honestly(price: UncertaintyPrice, buys: Sensitivity) -> None:
    little = replace(price, savings=tuple(replace(s, saves_mm=0.004) for s in price.savings))
    assert price_sentences(little) == [
        "Knowing more would save no metal to speak of: the plan does not hang on it."
    ]
    known = [replace(s, saves_mm=0.001) if "again" in s.what else s for s in price.savings]
    assert price_sentences(replace(price, savings=tuple(known)))[-1] == (
        "Scanning the neck once more would save next to nothing: its tops are known."
    )
    hopeless = tuple(replace(s, saves_mm=NAN, feasible=False) for s in price.savings)
    assert price_sentences(replace(price, feasible=False, savings=hopeless)) == [
        "No measuring cures it: with everything known exactly there is no plan either."
    ]
    flat = replace(buys, steps=(step("action", 0.304, 0.1), step("action", 0.304, 0.2)))
    assert sensitivity_sentences(flat)[0] == "More action saves no metal to speak of."


def test_life_where_nothing_is_cut_or_known(lives: Life) -> None:
    uncut = replace(lives.frets[0], cut_mm=0.0, dressings=0.4)
    said = life_sentences(Life((uncut,), 0.05, True, 0.4, ()))
    assert said[0].startswith("The plan takes no metal: a dressing is taken for 0.05 mm")
    assert "not one more dressing of" in said[1]
    assert len(said) == 2
    assert life_sentences(Life((lives.frets[-1],), 0.05, True, NAN, ())) == [
        "How long the frets last is not known: no fret's height is."
    ]
    assert life_sentences(replace(lives, spares=()))[-1] == (
        "Nothing small spares fret 4: neither other frets nor a tenth of action."
    )


def test_documents(weighed: Weighed, doubts: Doubts) -> None:
    found = weighed_document(weighed)
    assert set(found) == {"sensitivity", "uncertainty_cost", "life"}
    steps = found["sensitivity"]["steps"]
    assert steps[1] == {
        "kind": "action", "by": 0.1, "what": None, "string": None, "feasible": True,
        "metal_um": 82.0, "saves_um": 222.0, "rod_turns": 0.25,
        "action_mm": [1.7, 1.8, 1.9, 2.0, 2.1, 2.2],
    }  # fmt: skip
    assert steps[0]["metal_um"] is None
    assert steps[0]["status"] == "no plan meets everything"
    assert found["sensitivity"]["u_metal_um"] == 3.4
    assert found["sensitivity"]["slopes"]["action_um_per_mm"][0] == {
        "string": 1, "metal_um": -2560.0,
    }  # fmt: skip
    assert found["uncertainty_cost"]["savings"][2] == {
        "what": "heights", "feasible": True, "saves_um": 141.5, "u_string_height_mm": 0.01,
    }  # fmt: skip
    assert found["life"]["frets"][0]["dressings"] == 3.66
    assert found["life"]["frets"][-1]["status"] == "the fret's height is not known"
    assert found["life"]["frets"][-1]["string"] is None
    entries = doubts_document(doubts)
    assert [entry["kind"] for entry in entries] == ["fret"] * 2 + ["finding"] + ["top"] * 6 + [
        "scan"
    ]
    assert entries[1]["tops"][2] == {
        "string": 3, "remove_um": 31.0, "u_top_mm": 0.012,
        "higher": {"by_mm": 0.017, "string": 3, "fretted": 8, "at": 9},
        "lower": {"by_mm": 0.0051, "string": 3, "fretted": 9, "at": 10},
        "metal_um_per_um": 0.0,
    }  # fmt: skip
    unseen = entries[5]
    assert (unseen["u_top_mm"], unseen["higher"], unseen["metal_um_per_um"]) == (None,) * 3
    assert doubts_document(Doubts()) == []
