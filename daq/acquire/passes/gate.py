"""Whether a pass may be kept: judged on what came, before anything is corrected."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.clocks.fit import ClockError
from daq.acquire.links.device_time import steps
from daq.acquire.links.rig_faults import stopped_line, stops
from daq.acquire.links.seen import Seen, swapped
from daq.acquire.passes.lanes import PassPlan, end_pads
from daq.files.rig import RigFile
from daq.record.merge import merge
from daq.wire.records import ABSENT, Event, SampleBlock

MOST_LOST = 0.03
LONGEST_HOLE_MM = 0.6
WIDEST_SPACING_MM = 0.2
SPACING_SPARE = 1.25
LEAST_ON_PAD = 10
MOST_INVALID = 0.5
NOTHING_THERE = 0.995
FURTHEST_BACK_MM = 1.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """good: the pass may be used. why: what speaks against it, one line each.

    remarks: what does not speak against it but is worth knowing.
    """

    good: bool
    why: tuple[str, ...]
    remarks: tuple[str, ...] = ()


def judge(links: Sequence[Seen], plan: PassPlan, rig: RigFile) -> Verdict:
    """The verdict on one pass.

    links: all that came over each link between its beginning and its end, the sensor's first;
    on a rig of two links the samples are put together before they are judged, and what is lost
    is told of each. Losses are told from `seq` by modular difference, so a counter that wraps
    loses nothing.
    """
    why = [
        stopped_line(event, drives=one.drives)
        for one in links
        for event in one.events
        if stops(event, drives=one.drives)
    ]
    empty = [_no_samples(one, len(links)) for one in links if len(one.samples) < 2]
    if empty:
        return Verdict(False, (*why, *empty))
    try:
        samples = _together(links)
    except ClockError as error:
        return Verdict(False, (*why, f"readings cannot be given their places: {error}"))
    x_mm = rig.x_mm(samples.x)
    between = _between_pads(x_mm, rig)
    for one in links:
        why += (_of(one, links, loss) for loss in _losses(one.samples, one.bad_frames))
    why += _ends(x_mm, rig)
    why += _way(x_mm, between, plan)
    why += _spacing(samples, x_mm, between, plan, rig)
    why += _invalid(samples.raw[between])
    return Verdict(not why, tuple(why), tuple(_remarks(links[0].events)))


def widest_spacing_mm(plan: PassPlan, rig: RigFile) -> float:
    """How far apart samples may lie."""
    return max(WIDEST_SPACING_MM, SPACING_SPARE * plan.speed_mm_s / rig.sensor.rate_hz)


def hole_words(from_mm: float, to_mm: float) -> str:
    """Why a pass with such a hole is not good."""
    return (
        f"nothing was measured over {abs(to_mm - from_mm):.2f} mm, from {from_mm:.1f} to "
        f"{to_mm:.1f} mm; at most {LONGEST_HOLE_MM:g} mm"
    )


def way_words(back_mm: float, at_mm: float) -> str:
    """Why a pass that went back so far is not good."""
    return (
        f"the carriage went back by {back_mm:.1f} mm at x = {at_mm:.1f} mm; it must go from pad to "
        "pad in one go"
    )


def _together(links: Sequence[Seen]) -> SampleBlock:
    """Raises ClockError where the two clocks of a rig do not go together."""
    sensor, carriage = links[0].samples, links[-1].samples
    if len(links) > 1 and swapped(sensor, carriage):
        raise ClockError(
            f"{links[0].who} counts and reads nothing: the ports of the two links are swapped; "
            "exchange them in the rig file"
        )
    samples = merge(tuple(one.arrived for one in links)).samples
    if len(samples) < 2:
        raise ClockError("the two links did not stream at the same time")
    return samples


def _no_samples(one: Seen, links: int) -> str:
    came = f"{len(one.samples)} samples came"
    return f"{came}; the sensor is not streaming" if links == 1 else f"{came} from {one.who}"


def _of(one: Seen, links: Sequence[Seen], why: str) -> str:
    """Which link, where there is a choice."""
    return why if len(links) == 1 else f"{one.who}: {why}"


def _losses(samples: SampleBlock, bad_frames: int) -> Iterator[str]:
    gone = steps(samples.seq, None) - 1
    lost = int(gone[gone > 0].sum())
    sent = len(samples) + lost
    if max(lost, bad_frames) > MOST_LOST * sent:
        yield (
            f"{lost} of {sent} samples lost and {bad_frames} frames damaged; "
            f"at most {MOST_LOST:.0%}; check the cable and the baud rate"
        )
    if np.any(gone < 0):
        yield "the sample numbers ran backwards: the rig started anew in the middle"


def _ends(x_mm: NDArray[np.float64], rig: RigFile) -> Iterator[str]:
    first, last = end_pads(rig)
    for pad, name in ((first, "first"), (last, "last")):
        on_pad = int(np.count_nonzero((x_mm >= pad.from_mm) & (x_mm <= pad.to_mm)))
        if on_pad < LEAST_ON_PAD:
            yield (
                f"the {name} pad ({pad.from_mm:g} to {pad.to_mm:g} mm) was not reached: the pass "
                f"ran from {x_mm[0]:.1f} to {x_mm[-1]:.1f} mm"
            )


def _way(x_mm: NDArray[np.float64], between: NDArray[np.bool_], plan: PassPlan) -> Iterator[str]:
    way_mm = plan.direction * x_mm
    if way_mm[-1] < way_mm[0]:
        yield (
            f"the carriage moved the wrong way, from {x_mm[0]:.1f} to {x_mm[-1]:.1f} mm; check the "
            "sign of its counts and the wiring of the motor"
        )
        return
    back_mm = np.where(between, np.maximum.accumulate(way_mm) - way_mm, 0.0)
    furthest = int(np.argmax(back_mm))
    if back_mm[furthest] > FURTHEST_BACK_MM:
        yield way_words(float(back_mm[furthest]), float(x_mm[furthest]))


def _spacing(
    samples: SampleBlock,
    x_mm: NDArray[np.float64],
    between: NDArray[np.bool_],
    plan: PassPlan,
    rig: RigFile,
) -> Iterator[str]:
    crosses = between[1:] | between[:-1]
    moved_mm = np.abs(np.diff(x_mm))[crosses]
    if not moved_mm.size:
        return
    hole = int(np.argmax(moved_mm))
    if moved_mm[hole] > LONGEST_HOLE_MM:
        yield hole_words(float(x_mm[:-1][crosses][hole]), float(x_mm[1:][crosses][hole]))
    each_mm = moved_mm / np.maximum(steps(samples.seq, None)[crosses], 1)
    spacing_mm = float(np.percentile(each_mm, 95))
    widest_mm = widest_spacing_mm(plan, rig)
    if spacing_mm > widest_mm:
        yield (
            f"too fast: a sample every {spacing_mm:.2f} mm, at most {widest_mm:.2f} mm; "
            "go slower or raise rate_hz"
        )


def _invalid(raw: NDArray[np.int32]) -> Iterator[str]:
    share = float(np.mean(raw == ABSENT)) if raw.size else 0.0
    if share > NOTHING_THERE:
        yield (
            "nothing was read between the pads; does anything lie on the rig, and does the sensor "
            "reach it?"
        )
    elif share > MOST_INVALID:
        yield (
            f"{share:.0%} of the readings between the pads are invalid; check the sensor's height "
            "over the board"
        )


def _remarks(events: Sequence[Event]) -> Iterator[str]:
    over = Counter(event.text for event in events if event.word == "overrange")
    for text, times in over.items():
        said = f" (the rig says: {text})" if text else ""
        yield f"the sensor went out of its range {times} time{'s' * (times > 1)}{said}"


def _between_pads(x_mm: NDArray[np.float64], rig: RigFile) -> NDArray[np.bool_]:
    first, last = end_pads(rig)
    return (x_mm > first.to_mm) & (x_mm < last.from_mm)
