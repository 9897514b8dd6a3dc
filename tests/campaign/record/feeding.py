"""A feeder and a recorder at the two ends of a pty, and what came of it."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Fed:
    """What recording a stream took.

    lost: samples that were sent and did not come out of the decoder. core_share: of one core,
    by the recording process while the stream ran. late_ms: from a sample's writing to the port
    until the decoder had it: median, 99th percentile, worst.
    """

    samples: int
    lost: int
    in_order: bool
    bad_frames: int
    took_s: float
    core_share: float
    turns_a_second: float
    deepest_bytes: int
    memory_mb: tuple[float, ...]
    late_ms: tuple[float, float, float]


def feed(protocol: str, rate_hz: int, seconds: float, journal: Path) -> Fed:
    """Records a stream at its exact pace into a journal."""
    samples = round(rate_hz * seconds)
    words = [sys.executable, str(HERE / "feeder.py"), protocol, str(rate_hz), str(samples)]
    with subprocess.Popen(
        words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as feeder:
        assert feeder.stdin is not None
        assert feeder.stdout is not None
        try:
            port = feeder.stdout.readline().strip()
            told = _record(port, protocol, rate_hz, samples, journal, most_s=60 + 2 * seconds)
            feeder.stdin.close()
            sent = np.array(json.loads(feeder.stdout.readline()))
        finally:
            feeder.kill()
    late_ms = _late_ms(sent, np.array(told.pop("log")))
    told["memory_mb"] = tuple(told["memory_mb"])
    return Fed(lost=samples - told["samples"], late_ms=late_ms, **told)


def _record(
    port: str, protocol: str, rate_hz: int, samples: int, journal: Path, most_s: float
) -> dict[str, Any]:
    words = [port, protocol, str(rate_hz), str(samples), str(journal)]
    done = subprocess.run(
        [sys.executable, str(HERE / "recorder.py"), *words],
        capture_output=True,
        text=True,
        timeout=most_s,
    )
    assert done.returncode == 0, done.stderr
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def _late_ms(sent: np.ndarray, heard: np.ndarray) -> tuple[float, float, float]:
    """Of the last sample of each write."""
    sent = sent[sent[:, 1] > 0]
    came = np.minimum(np.searchsorted(heard[:, 1], sent[:, 1]), len(heard) - 1)
    late = (heard[came, 0] - sent[:, 0]) * 1e3
    median, most, worst = np.percentile(late, [50, 99, 100])
    return float(median), float(most), float(worst)
