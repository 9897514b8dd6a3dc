"""Nothing that samples go through loops over them in Python: counted, not timed."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.crowns.fit import fit_crowns
from analysis.crowns.windows import gather
from analysis.instrument import Instrument
from calibration.correct import correct
from calibration.passes import Pad, RawPass
from daq.acquire.links.device_time import DeviceTime
from daq.acquire.links.inbox import Chunk
from daq.record.journal import JournalWriter
from daq.record.journal_format import JournalRecord
from daq.record.profiles import raw_passes
from daq.record.scan import read_scan
from daq.record.scanfile import build_scan
from daq.wire.binary.decode import BinaryDecoder
from daq.wire.dialect import Decoder
from daq.wire.line.decode import LineDecoder

from .instructions import for_a_thousand_more, instructions
from .stream import binary_bytes, line_bytes

#: A loop over samples takes at least three instructions a sample, 3,000 for a thousand. What there
#: is comes of pieces: a read's record holds some hundred samples.
MOST_MORE = 1200.0
#: A turn of the acquisition decodes about so many samples, and this is what it may take.
TURN_SAMPLES, MOST_A_TURN = 400, 2600
#: A record of the journal, whatever is in it.
MOST_A_RECORD = 250

PROTOCOLS = pytest.mark.parametrize(
    ("decoder", "encoded"),
    [(LineDecoder, line_bytes), (BinaryDecoder, binary_bytes)],
    ids=["line", "binary"],
)
Encoded = Callable[[int], bytes]


@PROTOCOLS
def test_decoding(decoder: Callable[[], Decoder], encoded: Encoded) -> None:
    def make(samples: int) -> Callable[[], object]:
        data = encoded(samples)
        return lambda: decoder().feed(data)

    assert for_a_thousand_more(make, 500, 4000) < MOST_MORE


@PROTOCOLS
def test_a_turn_of_decoding(decoder: Callable[[], Decoder], encoded: Encoded) -> None:
    data = encoded(TURN_SAMPLES)
    assert len(decoder().feed(data).samples) == TURN_SAMPLES
    assert instructions(lambda: decoder().feed(data)) < MOST_A_TURN


@PROTOCOLS
def test_decoding_against_splitting(decoder: Callable[[], Decoder], encoded: Encoded) -> None:
    """What the instructions do not show, as objects made in C: beside the least a script does."""
    data, lines = encoded(8000), line_bytes(8000)
    decoding = _least_s(lambda: decoder().feed(data), lambda: lines.replace(b",", b" ").split())
    # 1.8 for the line protocol, 0.6 for the binary one
    assert decoding < 5.0


def test_the_device_clock() -> None:
    def make(samples: int) -> Callable[[], object]:
        block = LineDecoder().feed(line_bytes(samples)).samples
        return lambda: DeviceTime().add(block)

    assert for_a_thousand_more(make, 500, 4000) < MOST_MORE


def test_recording(new_path: Callable[[], Path]) -> None:
    with JournalWriter(new_path()) as journal:
        journal.rx([Chunk(1, b"x")])
        assert instructions(lambda: journal.rx([Chunk(1, b"x")])) < MOST_A_RECORD
        assert instructions(lambda: journal.rx([Chunk(1, bytes(100_000))])) < MOST_A_RECORD


def test_building_and_loading_a_scan(
    recorded: Callable[[int], list[JournalRecord]], new_path: Callable[[], Path]
) -> None:
    def build(samples: int) -> Callable[[], object]:
        records = recorded(samples)
        return lambda: build_scan(records, new_path())

    def load(samples: int) -> Callable[[], object]:
        path = new_path()
        build_scan(recorded(samples), path)
        return lambda: raw_passes(read_scan(path), 0.005, None, 0.001)

    assert for_a_thousand_more(build, 5_000, 20_000) < MOST_MORE
    assert for_a_thousand_more(load, 5_000, 20_000) < MOST_MORE


def test_correcting(make_pass: Callable[..., RawPass], pads: tuple[Pad, ...]) -> None:
    def make(samples: int) -> Callable[[], object]:
        rate_hz = samples * 25.0 / 614.0
        passes = [
            make_pass(lambda x: np.sin(x / 40.0), way, rate_hz=rate_hz, noise_mm=0.002)
            for way in (1, -1)
        ]
        return lambda: correct(passes, pads, 0.001)

    assert for_a_thousand_more(make, 10_000, 80_000) < MOST_MORE


def test_tops(make_neck: Callable[..., Any], walnut: Instrument) -> None:
    def make(samples: int) -> Callable[[], object]:
        neck = make_neck(walnut)
        profiles = neck.profiles(1, lanes=[1.0, 2.0], step_mm=550.0 / samples)
        centres = [
            neck.nut_mm + walnut.fret_x_mm(np.arange(1.0, walnut.frets + 1), one.string)
            for one in profiles
        ]
        crown = np.tile(np.arange(2 * walnut.frets), 2).tolist()
        return lambda: fit_crowns(gather(profiles, centres), 1.0, crown)

    assert for_a_thousand_more(make, 10_000, 40_000) < MOST_MORE


def _least_s(work: Callable[[], object], beside: Callable[[], object]) -> float:
    """How many times as long, by the least of runs side by side of this thread's own time."""
    least = [np.inf, np.inf]
    for _ in range(15):
        for which, one in enumerate((work, beside)):
            began = time.thread_time()
            one()
            least[which] = min(least[which], time.thread_time() - began)
    return least[0] / least[1]
