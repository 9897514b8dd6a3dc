"""Equal temperament on A4 = 440 Hz (ISO 16:1975), and frets that stand by it.

The formula is its own check; no independent printed table was used. Tolerance 1e-6 mm.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from analysis.instrument import Instrument
from analysis.strings.pitch import note_frequency_hz

DATA = Path(__file__).parent / "data" / "fret_positions_650.csv"


@pytest.mark.parametrize(
    ("note", "hz"),
    [
        ("A4", 440.0),  # ISO 16:1975
        ("E2", 82.406889),
        ("A2", 110.0),
        ("D3", 146.832384),
        ("G3", 195.997718),
        ("B3", 246.941651),
        ("E4", 329.627557),
    ],
)
def test_open_strings(note: str, hz: float) -> None:
    assert note_frequency_hz(note) == pytest.approx(hz, abs=5e-7)


def test_semitone() -> None:
    # 2^(1/12)
    assert note_frequency_hz("A#4") / 440.0 == pytest.approx(1.059463094359295, rel=1e-15)


def test_fret_positions_of_650_mm(walnut: Instrument) -> None:
    fret, equal, rule_of_18 = np.loadtxt(DATA, delimiter=",", skiprows=2).T
    made = replace(walnut, scale_bass_mm=650.0, scale_treble_mm=650.0, frets=24)
    np.testing.assert_allclose(made.fret_x_mm(fret, 1.0), equal, atol=1e-6)
    # Galilei's rule of 18 (1581) is 2.36 mm off at fret 12: it must not pass for ours
    assert abs(made.fret_x_mm(12.0, 1.0) - rule_of_18[12]) > 2.0


def test_divisor(walnut: Instrument) -> None:
    x = walnut.fret_x_mm(np.arange(0.0, 23.0), 1.0)
    left = walnut.saddle_x_mm(1.0) - x[:-1]
    # fret-to-next divisor 1 / (1 - 2^(-1/12))
    np.testing.assert_allclose(left / np.diff(x), 17.817153745106, rtol=1e-12)
