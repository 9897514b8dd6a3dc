"""What is said once metal is off: what to do now, how the strung neck ended, the laws."""

from __future__ import annotations

import io
import json
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rich.console import Console

from analysis.after.law import Law
from analysis.after.standing import Standing
from analysis.after.strung import StringRelief, StrungCheck
from analysis.after.verify import Cut, Left
from analysis.plan.clearances import Clearance
from daq.documents.law import known_document, laws_document
from daq.documents.strung import strung_document
from daq.documents.verify import verify_document
from daq.steps.law import Hand, HandLaw, Known
from daq.text.after import after_words, print_left, print_strung, standing_sentence
from daq.text.law import known_sentence, print_laws

FILE, STEEL = Hand("file", "nickel silver"), Hand("file", "stainless steel")
FINE = Clearance(1, 4, 5, False, 0.2, 0.1, 0.0, 0.01, "clear")
NEAR = replace(FINE, fretted=6, worst_at=7, clearance_mm=0.118, verdict="undecided")
SHORT = replace(FINE, fretted=8, worst_at=9, clearance_mm=0.104, verdict="undecided")
LEFT = (Left(9, 1, 6.2, 1.1, 6.9), Left(4, 2, 1.1, 1.0, 0.0))


def stand(*clearances: Clearance, can: bool = True) -> Standing:
    left = np.full((22, 6), 0.0 if can else np.nan)
    return Standing(clearances, left, np.full((22, 6), 1e-3), 2.0)


def cut(verdict: str) -> Cut:
    return Cut(9, 1, 30.0, 28.0, 0.5, verdict)


def words(verdict: str, standing: Standing, left: Sequence[Left] = (), **how: Any) -> str:
    return after_words([cut(verdict)], standing, left, "old parlour", how.get("finished"))


@pytest.mark.parametrize(
    ("said", "begins"),
    [
        (words("within", stand(FINE)), "Enough came off. String up"),
        (words("under", stand(FINE, NEAR)), "Less came off than planned, and every margin is"),
        (words("over", stand(FINE)), "More came off than planned at fret 9. Every margin is clear"),
        (words("under", stand(FINE, SHORT), LEFT), "Metal is left at frets 4 and 9, 6.2 µm at"),
        (words("over", stand(SHORT), LEFT), "More came off than planned at fret 9. Metal is left"),
        (words("under", stand(SHORT), LEFT[1:]), "What is left is less than a hand can be sure"),
        (words("over", stand(SHORT, can=False)), "More came off than planned at fret 9. Metal al"),
        (words("within", stand(SHORT), finished=True), "Finished: every margin"),
        (words("within", stand(FINE), finished=False), "Not finished: margins on the strung neck"),
    ],
)
def test_what_to_do_now(said: str, begins: str) -> None:
    assert said.startswith(begins)


def test_the_commands_are_there_to_copy() -> None:
    assert words("under", stand(SHORT), LEFT).endswith(
        '--state unstrung, then: neckform verify "old parlour"'
    )
    assert words("within", stand(FINE)).endswith(
        '--state strung, then: neckform verify "old parlour"'
    )
    assert words("over", stand(SHORT, can=False)).endswith('neckform plan "old parlour"')


def test_margins_in_one_sentence() -> None:
    assert standing_sentence(stand(FINE)) == "All 1 margins are clear, with the guard of the plan."
    assert standing_sentence(stand(FINE, NEAR, SHORT)) == (
        "Of 3 margins 1 are clear with the guard of the plan, 1 clear in at least 95 of 100 cases "
        "and 1 less surely (string 1 fretted at 8 over fret 9)."
    )


@pytest.fixture
def strung_end() -> StrungCheck:
    relief = tuple(
        StringRelief(s, 0.1, 0.025, 0.14, 0.002, 0.04, 0.025, "as predicted") for s in range(1, 7)
    )
    off = np.random.default_rng(1).normal(0.0, 1.5, (22, 6))
    odd = np.zeros((22, 6), dtype=bool)
    odd[14, 3:], off[14, 3:], off[2, 2] = True, 40.0, np.nan
    return StrungCheck(relief, -0.16, 0.04, 0.002, off, np.full((22, 6), 1.2), odd)


def _page() -> tuple[Console, io.StringIO]:
    stream = io.StringIO()
    return Console(file=stream, width=80, markup=False, emoji=False, highlight=False), stream


def _golden(name: str, text: str) -> None:
    path = Path(__file__).parent / "golden" / f"{name}.txt"
    if os.environ.get("NECKFORM_GOLDEN") == "write":
        path.write_text(text)
    assert path.read_text() == text


def test_the_strung_neck(strung_end: StrungCheck) -> None:
    console, page = _page()
    print_strung(console, strung_end, stand(FINE, SHORT), "planned")
    print_left(console, LEFT)
    _golden("strung_end", page.getvalue())


def laws() -> tuple[HandLaw, ...]:
    law = Law(0.884, 0.014, 0.3, 0.4, 0.9, 34, 2, 0.012, -0.4, 2.2, 52.1)
    return (
        HandLaw(FILE, law, 36, 2, "2024-05-06T07:08:09+00:00"),
        HandLaw(STEEL, None, 2, 1, "2024-06-06T07:08:09+00:00", (0.9, 0.1), 1),
    )


def test_the_laws() -> None:
    console, page = _page()
    print_laws(console, laws())
    _golden("laws", page.getvalue())
    console, page = _page()
    print_laws(console, ())
    assert page.getvalue().startswith("The workshop has no verified cut yet")


def test_what_aims_go_by() -> None:
    own, few = laws()
    assert known_sentence(Known(FILE, own, None)).startswith(
        "Aims go by the law for file on nickel silver: 0.88 ± 0.03 of what is meant comes off, "
        "from 34 cuts in 2 sessions"
    )
    assert known_sentence(Known(STEEL, None, own)) == (
        "No law for file on stainless steel yet: what is planned is what to aim at. The nearest is "
        "file on nickel silver, 0.88 ± 0.03: not used."
    )
    assert "(2 verified cuts so far, too few" in known_sentence(Known(STEEL, few, own))
    assert known_sentence(Known(STEEL, None, None)).endswith("what to aim at.")


def _strict(document: Any) -> Any:
    return json.loads(json.dumps(document, allow_nan=False))


def test_documents_are_plain_json(strung_end: StrungCheck) -> None:
    own, _ = laws()
    told = _strict(laws_document(laws()))["laws"]
    assert told[0]["law"]["gain"] == 0.884
    assert told[1]["law"] is None
    assert "3 cuts" in told[1]["status"]
    known = _strict(known_document(Known(STEEL, None, own)))
    assert (known["law"], known["nearest"]["metal"]) == (None, "nickel silver")
    end = _strict(strung_document("005-strung.h5", strung_end, stand(FINE), "planned"))
    assert end["finished"] is True
    assert end["rod"]["gain"] == pytest.approx(0.75)
    tops = {(top["fret"], top["string"]): top for top in end["tops"]}
    assert tops[15, 4]["status"] == "odd"
    assert tops[3, 3]["off_um"] is None
    still = replace(strung_end, planned_relief_mm=0.0)
    rod = _strict(strung_document("5", still, stand(SHORT), "measured"))["rod"]
    assert rod["gain"] is None
    assert "too little" in rod["status"]


def test_what_is_left_beside_each_cut() -> None:
    standing = stand(FINE, SHORT)
    standing.left_mm[8, 0] = 0.0062
    document = _strict(verify_document([cut("under")], None, "go on", standing, LEFT))
    assert document["cuts"][0]["left_um"] == 6.2
    assert document["cuts"][0]["u_left_um"] == 1.0
    assert document["left"][0] == {
        "fret": 9, "string": 1, "left_um": 6.2, "u_left_um": 1.1, "aim_um": 6.9,
    }  # fmt: skip
    assert document["another_pass"] is True
    assert (document["standing"]["short"], document["standing"]["done"]) == (1, False)
    gone = _strict(verify_document([cut("over")], None, "stop", stand(SHORT, can=False), ()))
    assert gone["cuts"][0]["left_um"] is None
    assert "metal alone" in gone["cuts"][0]["status"]
    assert gone["another_pass"] is False
