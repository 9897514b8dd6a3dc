"""What the gate lets through, and the line each fault gets."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from daq.acquire.links.seen import Seen
from daq.acquire.passes.gate import Verdict, judge
from daq.acquire.passes.lanes import PassPlan, straight_lane
from daq.files.rig import RigFile
from daq.record.merge import Arrived
from daq.wire.records import ABSENT, Event, SampleBlock

Judge = Callable[..., Verdict]


def line(from_mm: float, to_mm: float, spacing_mm: float = 0.0625) -> np.ndarray:
    count = round(abs(to_mm - from_mm) / spacing_mm) + 1
    return np.linspace(from_mm, to_mm, count)


def block(x_mm: np.ndarray, keep: np.ndarray | None = None, raw: Any = 1500) -> SampleBlock:
    """Samples at x_mm; those not kept are lost. seq and clock wrap in the middle."""
    n = np.arange(len(x_mm))
    keep = np.ones(len(n), bool) if keep is None else keep
    seq = (n + 2**32 - len(n) // 2).astype(np.uint64) % 2**32
    cells = np.broadcast_to(np.asarray(raw, np.int32), len(n))
    absent = np.full(len(n), ABSENT, np.int32)
    x = np.rint(x_mm / 0.005).astype(np.int32)
    t_us = (seq * 2500 % 2**32).astype(np.uint32)
    columns = (seq.astype(np.uint32), t_us, x, absent, cells, absent)
    return SampleBlock(*(column[keep] for column in columns))


@pytest.fixture
def verdict_on(rig_file: RigFile) -> Judge:
    def verdict_on(
        samples: SampleBlock, events: tuple[Event, ...] = (), bad: int = 0, direction: int = 1
    ) -> Verdict:
        plan = PassPlan(straight_lane(rig_file), direction, 25.0)
        seen = Seen(
            "the rig", True, Arrived(samples, np.zeros(len(samples), np.int64)), events, bad
        )
        return judge([seen], plan, rig_file)

    return verdict_on


def test_a_clean_pass_is_good_both_ways_and_over_the_wrap(verdict_on: Judge) -> None:
    assert verdict_on(block(line(5, 93))) == Verdict(True, (), ())
    assert verdict_on(block(line(93, 5)), direction=-1) == Verdict(True, (), ())


def test_single_losses_are_let_through(verdict_on: Judge) -> None:
    x_mm = line(5, 93)
    assert verdict_on(block(x_mm, np.arange(len(x_mm)) % 50 != 7), bad=28).good


def test_more_than_three_in_a_hundred_lost(verdict_on: Judge) -> None:
    x_mm = line(5, 93)
    verdict = verdict_on(block(x_mm, np.arange(len(x_mm)) % 25 != 7), bad=9)
    assert verdict.why == (
        "57 of 1409 samples lost and 9 frames damaged; at most 3%; check the cable and the baud "
        "rate",
    )


def test_damaged_frames_count_where_nothing_is_lost(verdict_on: Judge) -> None:
    assert "60 frames damaged" in verdict_on(block(line(5, 93)), bad=60).why[0]


def test_a_hole_between_the_pads_is_told_with_its_place(verdict_on: Judge) -> None:
    x_mm = line(5, 93)
    hole = (x_mm > 40.0) & (x_mm < 40.7)
    (why,) = verdict_on(block(x_mm, ~hole)).why
    assert why.startswith("nothing was measured over 0.7")
    assert ", from 40.0 to 40.8 mm; at most 0.6 mm" in why


def test_a_hole_on_a_pad_does_no_harm(verdict_on: Judge) -> None:
    x_mm = line(5, 93)
    assert verdict_on(block(x_mm, ~((x_mm > 8.0) & (x_mm < 9.5)))).good


def test_too_fast(verdict_on: Judge) -> None:
    (why,) = verdict_on(block(line(5, 93, 0.31))).why
    assert why == ("too fast: a sample every 0.31 mm, at most 0.20 mm; go slower or raise rate_hz")


def test_pads_that_were_not_reached(verdict_on: Judge) -> None:
    (why,) = verdict_on(block(line(5, 79.5))).why
    assert why == ("the last pad (80 to 94 mm) was not reached: the pass ran from 5.0 to 79.5 mm")
    assert "the first pad (4 to 16 mm)" in verdict_on(block(line(17, 93))).why[0]


def test_the_wrong_way(verdict_on: Judge) -> None:
    (why,) = verdict_on(block(line(93, 5))).why
    assert why.startswith("the carriage moved the wrong way, from 93.0 to 5.0 mm")


def test_going_back_in_the_middle(verdict_on: Judge) -> None:
    there_and_back = np.concatenate([line(5, 50), line(50, 46.5), line(46.5, 93)])
    (why,) = verdict_on(block(there_and_back)).why
    assert why.startswith("the carriage went back by 3.5 mm at x = 46.5 mm")


def test_many_invalid_readings(verdict_on: Judge) -> None:
    x_mm = line(5, 93)
    some = np.where(np.arange(len(x_mm)) % 5 < 2, ABSENT, 1500)
    most = np.where(np.arange(len(x_mm)) % 5 < 3, ABSENT, 1500)
    assert verdict_on(block(x_mm, raw=some)).good
    assert verdict_on(block(x_mm, raw=most)).why[0].startswith("60% of the readings between")


@pytest.mark.parametrize("word", ["stalled", "endstop", "reset", "halted"])
def test_an_event_that_stops_the_carriage(word: str, verdict_on: Judge) -> None:
    verdict = verdict_on(block(line(5, 93)), (Event(1, word, "", 3),))
    assert not verdict.good
    assert len(verdict.why) == 1


def test_a_sensor_out_of_range_is_only_a_remark(verdict_on: Judge) -> None:
    over = Event(1, "overrange", "", 3)
    verdict = verdict_on(block(line(5, 93)), (over, over, Event(2, "arrived", "", 9)))
    assert verdict == Verdict(True, (), ("the sensor went out of its range 2 times",))


def test_a_rig_that_started_anew_without_a_word(verdict_on: Judge) -> None:
    first, second = block(line(5, 50)), block(line(50, 93))
    verdict = verdict_on(SampleBlock.concatenate([first, second]))
    assert any("sample numbers ran backwards" in why for why in verdict.why)


@pytest.mark.parametrize("count", [0, 1])
def test_next_to_nothing(count: int, verdict_on: Judge) -> None:
    (why,) = verdict_on(block(line(5, 93))[:count]).why
    assert why == f"{count} samples came; the sensor is not streaming"
