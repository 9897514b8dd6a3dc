"""What is in the way, what would cure it and what chokes, as a repairer reads it."""

from __future__ import annotations

import io
import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.plan.blocking import Blocking, Hurdle
from analysis.plan.chokes import Choke, Chokes
from analysis.plan.cure import Cure
from analysis.plan.demands import Kind, Member
from analysis.plan.ideal import Impossible
from analysis.plan.plan import Plan
from analysis.plan.refret import Refret
from analysis.plan.target import Target
from daq.documents.plan import plan_document
from daq.text.chokes import choke_sentences
from daq.text.console import bullets, heading, make_console
from daq.text.cures import cure_sentences, in_the_way_sentences

GOLDEN = Path(__file__).parent / "golden"


def margin(string: int, fretted: int, at: int, now: float, wanted: float) -> Hurdle:
    return Hurdle(Member("margin", string, fretted, at), now, 0.011, wanted)


def limit(kind: Kind, string: int, limit_mm: float, at: int = 0) -> Hurdle:
    return Hurdle(Member(kind, string, 0, at), None, 0.0, limit_mm)


def cut(string: int, at: int, height: float, left: float) -> Hurdle:
    return Hurdle(Member("cut", string, 0, at), height, 0.002, left)


def action(string: int, now: float, highest: float) -> Hurdle:
    return Hurdle(Member("action", string), now, 0.022, highest)


BLOCKING = (
    *(
        Blocking(
            (
                margin(string, 5, 6, 0.051, 0.122),
                action(string, 1.40 + 0.1 * string, 1.70),
                cut(string, 6, 0.612, 0.0),
                limit("nut down", string, 0.25),
                limit("rod take", 0, 0.2),
            ),
            0.03 / string,
            False,
        )
        for string in (2, 3, 4, 6)
    ),
    Blocking(
        (
            margin(1, 0, 3, 0.72, 0.74),
            margin(1, 3, 7, 0.57, 0.76),
            margin(1, 7, 12, 0.54, 0.68),
            action(1, 1.4, 1.4),
        ),
        0.0876,
        True,
    ),
    Blocking(
        (
            margin(4, 5, 6, 0.139, 0.16),
            margin(5, 15, 16, 0.077, 0.098),
            cut(4, 6, np.nan, 0.0),
            limit("saddle up", 4, 1.5),
            limit("step down", 4, 0.05, at=6),
        ),
        0.0002,
        False,
    ),
)
STILL = (0.0,) * 6
CURES = (
    Cure("scan again", 0.8, amount=0.7),
    Cure("heights again", 0.8, amount=0.012),
    Cure("measure again", 0.8, amount=0.5),
    Cure("free", 0.212, free=("nut", "rod")),
    Cure("action", 0.4, raise_mm=(0.12, 0.12, 0.0, 0.0, 0.0, 0.031)),
    Cure("saddles", 0.4, raise_mm=(0.2, 0.0, 0.0, 0.0, 0.0, -0.1)),
    Cure("nut", 0.4, raise_mm=(0.0, 0.051, 0.0, 0.0, 0.0, 0.0)),
    Cure("rod", 0.4, amount=-0.75),
    Cure("softer", 0.4, amount=0.42),
    Cure("bends", 0.4, amount=1.5),
    Cure("bends", 0.4, amount=0.0),
    Cure("lower frets", 0.4, amount=0.54),
    Cure("refret", 1.2, frets=(2, 5), amount=0.95),
    Cure("refret", 1.2, frets=tuple(range(1, 23)), amount=1.2),
)
CHOKES = Chokes(
    (
        Choke(1, 12, 14, -0.012, 0.008, 0.11, "buzzes", 412.3, 331.0),
        Choke(1, 13, 16, 0.031, 0.008, 0.05, "undecided", 380.0, 336.0),
        Choke(1, 17, 19, 0.05, 0.006, 0.002, "undecided", 2000.0, 346.0),
        Choke(2, 12, 14, 0.02, 0.008, 0.03, "undecided", None, 331.0),
    ),
    (),
    np.where(np.arange(22)[:, None] == 13, 0.02, 0.0) * np.ones(6),
    np.where(np.arange(22)[:, None] < 15, 4.0, 1.5) * np.ones(6),
    np.full((22, 6), 4.0),
)


@pytest.fixture
def stuck(failing: Plan) -> Plan:
    """Everything that may be said at once."""
    return replace(
        failing,
        target=Target(),
        refret=(Refret(2, "0.52 mm high under string 1, the player needs 0.60 mm"),
                Refret(5, "with a new crown of 0.95 mm here and the others named a plan works")),
        blocking=BLOCKING,
        impossible=Impossible({1: 1.4701, 2: 1.52, 3: 1.52}, 0.4978, 1.5),
        cures=CURES,
        chokes=CHOKES,
    )  # fmt: skip


def test_words(stuck: Plan, plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    stream = io.StringIO()
    console = make_console(stream)
    heading(console, "In the way")
    bullets(console, in_the_way_sentences(stuck))
    heading(console, "Kept")
    bullets(console, in_the_way_sentences(replace(stuck, target=Target(frozenset({"rod", "nut"})))))
    heading(console, "Cures")
    bullets(console, cure_sentences(stuck))
    heading(console, "Bends")
    bullets(console, choke_sentences(stuck))
    heading(console, "Bends, planned")
    bullets(console, choke_sentences(replace(plan, chokes=CHOKES)))
    bullets(console, choke_sentences(replace(plan, chokes=replace(CHOKES, after=CHOKES.now[:2]))))
    bullets(console, choke_sentences(replace(plan, chokes=replace(CHOKES, now=(), cut_mm=None))))
    bullets(console, choke_sentences(replace(plan, chokes=replace(CHOKES, cut_mm=None))))
    text = "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"
    assert max(map(len, text.splitlines())) <= 80
    path = GOLDEN / "cures.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def test_strings_in_the_same_way_are_told_once(stuck: Plan) -> None:
    said = in_the_way_sentences(stuck)
    assert sum("cannot clear fret 6" in one for one in said) == 1
    (one,) = [one for one in said if "cannot clear fret 6" in one]
    assert one.startswith("String 2 fretted at 5")
    assert one.endswith("The same holds for strings 3, 4 and 6, by less.")


def test_a_player_who_does_not_bend_reads_nothing_of_bends(plan: Plan) -> None:
    assert choke_sentences(replace(plan, chokes=None)) == []


def test_document(stuck: Plan, six: Instrument) -> None:
    got = json.loads(json.dumps(plan_document(stuck, six), allow_nan=False))
    first = got["in_the_way"][0]
    assert first["short_mm"] == 0.015
    assert first["whatever_the_frets"] is False
    assert first["members"][0] == {
        "kind": "margin", "string": 2, "fretted": 5, "over_fret": 6, "bend": False,
        "now_mm": 0.051, "u_now_mm": 0.011, "limit_mm": 0.122,
    }  # fmt: skip
    assert first["members"][2] == {
        "kind": "cut", "string": 2, "fret": 6, "now_mm": 0.612, "u_now_mm": 0.002, "limit_mm": 0.0,
    }  # fmt: skip
    assert first["members"][4] == {"kind": "rod take", "limit_mm": 0.2}
    assert got["in_the_way"][5]["members"][2]["now_mm"] is None
    assert got["no_neck"] == {
        "highest_action_mm": {"1": 1.4701, "2": 1.52, "3": 1.52}, "pluck_force_n": 0.498,
        "bend_semitones": 1.5,
    }  # fmt: skip
    by_kind = {cure["kind"]: cure for cure in got["cures"]}
    assert by_kind["scan again"]["u_share"] == 0.7
    assert by_kind["heights again"]["u_action_mm"] == 0.012
    assert by_kind["saddles"]["saddles_mm"] == {"1": 0.2, "6": -0.1}
    assert by_kind["saddles"]["raise_mm"] == {}
    assert by_kind["nut"]["nut_mm"] == {"2": 0.051}
    assert by_kind["rod"]["turns"] == -0.75
    assert by_kind["softer"]["pluck_force_n"] == 0.42
    assert by_kind["lower frets"]["least_fret_mm"] == 0.54
    assert got["cures"][12]["frets"] == [2, 5]
    assert got["cures"][12]["crown_mm"] == 0.95
    choke = got["chokes"][0]
    assert (choke["string"], choke["fretted"], choke["over_fret"]) == (1, 12, 14)
    assert choke["touches"] is True
    assert got["chokes"][3]["radius_mm"] is None
    assert got["choke_cut"] == {"metal_um": 120.0, "frets": [14]}
    assert len(got["widest_bends"]) == 6 * 21


def test_document_of_a_plan_that_works_has_the_keys_empty(plan: Plan, six: Instrument) -> None:
    got = plan_document(plan, six)
    assert got["in_the_way"] == got["cures"] == got["chokes"] == []
    assert got["no_neck"] is None
    assert got["choke_cut"] is None
