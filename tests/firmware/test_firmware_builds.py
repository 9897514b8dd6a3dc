"""Other rigs that the same program makes: no cross slide, no motor; and builds that are none."""

import subprocess
from pathlib import Path

import pytest

SOURCES = Path(__file__).parents[2] / "rig_configs" / "firmware"


def test_without_a_cross_slide_y_is_empty_and_never_asked_for(board):
    board = board("indicator-encoder-single")
    board.home()
    assert board.chip.where == (0, 0)
    assert board.say("M,100,5,") == ["N,M,no cross slide"]
    assert board.say("M,100,,") == ["A,M"]
    board.run(0.3)
    board.say("G,100")
    sample = board.run(0.05)[-1].split(",")
    assert sample[3:] == ["100", "", "1234"]


def test_a_hand_pushed_rig_counts_and_refuses_to_move(board):
    board = board("indicator-encoder-hand-single")
    board.run(0.02)
    assert board.say("M,100,,") == ["N,M,no motor"]
    said = board.say("O")
    assert said[0] == "A,O"
    assert said[1].endswith(",homed")
    said = board.say("K")
    assert said[0] == "A,K"
    assert said[1].endswith(",halted")
    board.say("G,100")
    assert board.run(0.05)[-1].split(",")[3:] == ["0", "", "1234"]
    assert len(board.moved()) == 0


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("SENSOR=laser", "SENSOR is laser; allowed: indicator, analogue"),
        ("COUNT=both", "COUNT is both; allowed: encoder, steps"),
        ("DRIVE=hand", "DRIVE=hand drives no cross slide: take CROSS=no"),
    ],
)
def test_a_build_that_cannot_be_says_why(built, tmp_path, how, said):
    done = subprocess.run(
        ["make", "-C", str(SOURCES), f"OUT={tmp_path}", how], capture_output=True, text=True
    )
    assert done.returncode != 0
    assert said in done.stderr
