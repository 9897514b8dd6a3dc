"""What only moving shows: axes, signs, scale and pads that are not as the rig file has them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from calibration.drift.places import Flat, end_flats
from calibration.passes import FloatArray, RawPass
from daq.acquire.links.controller import Heard
from daq.acquire.passes.lanes import end_pads
from daq.errors import RigError
from daq.files.rig import PadEntry, RigFile
from daq.wire.records import ABSENT, SampleBlock

#: The first steps: so far from the end stop, at this share of the rig's speed.
STEP_MM = 20.0
STEP_SPEED_SHARE = 0.4
#: It may count so much the wrong way before it is halted.
WRONG_WAY_MM = 2.0
#: Less of the way than this is none; more off than that is a wrong scale.
LEAST_SHARE = 0.1
SCALE_SHARE = 0.02
LEAST_FAR, LEAST_ALONE = 0.003, 0.05
"""A scale is told by two pads far apart, and by one alone, no better."""
#: A pad is elsewhere when an edge is off by more: lag, play and a ball's ride are less.
PAD_OFF_MM = 1.0
EDGE_MM = 0.5
"""So well an edge is seen."""
#: What lies so far off and is by so much wider or narrower is not the pad.
FAR_MM = 20.0
UNLIKE = 0.3


class FirstSteps:
    """Hears the first slow move away from the end stop, and raises as soon as it is odd."""

    def __init__(self, rig_file: RigFile) -> None:
        self._rig_file = rig_file
        self._blocks: list[SampleBlock] = []

    def heard(self, heard: Heard) -> None:
        """Raises RigError where the carriage counts down while it is sent up."""
        if not (heard.drives and len(heard.batch.samples)):
            return
        self._blocks.append(heard.batch.samples)
        gone_mm = (int(self._blocks[-1].x[-1]) - int(self._blocks[0].x[0])) * self._scale
        if gone_mm < -WRONG_WAY_MM:
            raise RigError(
                f"the carriage counts the wrong way round: sent away from the nut, x went by "
                f"{gone_mm:.1f} mm; exchange the encoder's two signals (or turn the motor's wiring "
                "round, if it drove towards the nut)"
            )

    def judge(self, sent_mm: float) -> None:
        """After the move. Raises RigError where x did not go sent_mm on."""
        samples = SampleBlock.concatenate(self._blocks)
        if len(samples) < 2:
            return
        gone_mm = (int(samples.x[-1]) - int(samples.x[0])) * self._scale
        if abs(gone_mm) < LEAST_SHARE * sent_mm:
            raise RigError(self._not_counted(samples, sent_mm, gone_mm))
        if abs(gone_mm / sent_mm - 1.0) > SCALE_SHARE:
            raise RigError(
                f"the carriage was sent {sent_mm:g} mm and counted {gone_mm:.2f} mm; what moves it "
                "and what counts it do not have one scale: check steps and encoder in its firmware"
            )

    def _not_counted(self, samples: SampleBlock, sent_mm: float, gone_mm: float) -> str:
        y = samples.y
        cross_mm = self._rig_file.cross_mm_per_count
        if cross_mm is not None and y[0] != ABSENT and y[-1] != ABSENT:
            aside_mm = abs((int(y[-1]) - int(y[0])) * cross_mm)
            if aside_mm > LEAST_SHARE * sent_mm:
                return (
                    f"the axes are swapped: sent {sent_mm:g} mm along x, x counted {gone_mm:.1f} "
                    f"mm and y {aside_mm:.1f} mm; exchange x and y at the controller or in its "
                    "firmware"
                )
        return (
            f"the carriage does not count: sent {sent_mm:g} mm, x went {gone_mm:.1f} mm; see "
            "whether it moves (motor, coupling, driver) and whether its encoder is connected"
        )

    @property
    def _scale(self) -> float:
        return self._rig_file.carriage.mm_per_count


def wiring_faults(passes: Sequence[RawPass], rig_file: RigFile) -> tuple[str, ...]:
    """What passes along the whole travel say against the rig file, a line each."""
    quantum_mm = abs(rig_file.sensor.mm_per_count)
    seen = end_flats(passes, quantum_mm, rig_file.sensor.tip_radius_mm or 0.0)
    if not seen:
        return (
            "no pad was seen along the whole travel: no flat stretch of steel; check that the "
            "sensor reaches the pads, and sensor.mm_per_count",
        )
    written = end_pads(rig_file)
    scale = _scale(seen, written)
    if scale is not None:
        return (_scale_words(scale, rig_file),)
    return tuple(_misplaced(seen, written, rig_file))


def _scale(seen: Sequence[Flat], written: Sequence[PadEntry]) -> float | None:
    """By how much the counted places of all edges are too large; None where that is not it.

    Zero is the end stop, so a wrong scale stretches all from there. Where it is so far off that
    the last pad is out of reach, the first one's place and width must agree better than with a
    pad that was only moved.
    """
    found = np.array([[flat.from_mm, flat.to_mm] for flat in seen]).ravel()
    wanted = np.array([[pad.from_mm, pad.to_mm] for pad in written]).ravel()
    if found.size == wanted.size:
        scale, off_mm = _stretched(found, wanted)
        if off_mm < EDGE_MM * max(scale, 1.0):
            return scale if abs(scale - 1.0) > LEAST_FAR else None
    scale, off_mm = _stretched(found[:2], wanted[:2])
    moved_mm = found[:2] - wanted[:2]
    apart_mm = float(np.ptp(moved_mm)) / 2
    last_fits = np.abs(found[-2:] - wanted[-2:]).max() < PAD_OFF_MM
    if last_fits or abs(scale - 1.0) < LEAST_ALONE or off_mm > 0.5 * apart_mm:
        return None
    return scale


def _stretched(found: FloatArray, wanted: FloatArray) -> tuple[float, float]:
    """By how much, and how far the worst edge is from that."""
    scale = float(found @ wanted / (wanted @ wanted))
    return scale, float(np.abs(found - scale * wanted).max())


def _scale_words(scale: float, rig_file: RigFile) -> str:
    written = rig_file.carriage.mm_per_count
    return (
        f"the carriage's scale is off: the pads lie at {scale:.3f} times their places in the rig "
        f"file; carriage.mm_per_count is {written:g} there, and {written / scale:.5g} fits them"
    )


def _misplaced(
    seen: Sequence[Flat], written: tuple[PadEntry, PadEntry], rig_file: RigFile
) -> Iterator[str]:
    pairs = list(zip(seen, written, strict=False))
    if len(seen) == 1 and _apart_mm(seen[0], written[1]) < _apart_mm(seen[0], written[0]):
        pairs = [(seen[0], written[1])]
    for name, pad in zip(("first", "last"), written, strict=True):
        flat = next((flat for flat, its in pairs if its is pad), None)
        if flat is None or (_apart_mm(flat, pad) > FAR_MM and _unlike(flat, pad)):
            yield (
                f"the {name} pad ({pad.from_mm:g} to {pad.to_mm:g} mm) was not seen; check where "
                "it is, that the sensor reaches it, and travel_mm"
            )
        elif max(abs(flat.from_mm - pad.from_mm), abs(flat.to_mm - pad.to_mm)) > PAD_OFF_MM:
            there = f"{{from_mm: {flat.from_mm:.1f}, to_mm: {flat.to_mm:.1f}}}"
            yield (
                f"the {name} pad is not where the rig file has it: found {pad.from_mm:g} to "
                f"{pad.to_mm:g} mm, seen at {flat.from_mm:.1f} to {flat.to_mm:.1f} mm; write for "
                f"pad {rig_file.pads.index(pad) + 1}: {there}"
            )


def _apart_mm(flat: Flat, pad: PadEntry) -> float:
    return abs(flat.middle_mm - 0.5 * (pad.from_mm + pad.to_mm))


def _unlike(flat: Flat, pad: PadEntry) -> bool:
    """Its width is another's: something that stands on the rig."""
    return abs(flat.width_mm / (pad.to_mm - pad.from_mm) - 1.0) > UNLIKE
