"""Instruments of every kind, by a guitar's neck with other strings on another scale."""

from __future__ import annotations

from dataclasses import replace

from analysis.instrument import Instrument, StringSpec


def strung(base: Instrument, scale: float, strings: list[StringSpec]) -> Instrument:
    count = len(strings)
    return replace(
        base, scale_bass_mm=scale, scale_treble_mm=scale, strings=tuple(strings),
        action_mm=(2.0,) * count, nut_gap_mm=(0.5,) * count,
    )  # fmt: skip


def wound(hz: float, mm: float, material: str = "steel") -> StringSpec:
    return StringSpec("x", hz, mm, True, None, material)


def nylon(hz: float, mm: float) -> StringSpec:
    return StringSpec("x", hz, mm, False, None, "nylon")


def instruments_like(walnut: Instrument) -> dict[str, Instrument]:
    """Gauges from memory; common practice, no source."""
    bass = [wound(98.0, 1.14), wound(73.42, 1.65), wound(55.0, 2.03), wound(41.2, 2.67)]
    return {
        "steel": walnut,
        "electric": strung(walnut, 648.0, list(walnut.strings)),
        "bass": strung(walnut, 864.0, bass),
        "five-string bass": strung(walnut, 889.0, [*bass, wound(30.87, 3.30)]),
        "ukulele": strung(
            walnut, 380.0,
            [nylon(440, 0.61), nylon(329.6, 0.81), nylon(261.6, 0.86), nylon(392, 0.66)],
        ),
        "classical": strung(
            walnut, 650.0,
            [nylon(329.6, 0.71), nylon(246.9, 0.82), nylon(196.0, 1.02),
             wound(146.8, 0.74, "nylon"), wound(110.0, 0.89, "nylon"), wound(82.4, 1.09, "nylon")],
        ),
        "twelve-string": strung(walnut, 648.0, [s for s in walnut.strings for _ in range(2)]),
        "mandolin": strung(
            walnut, 350.0,
            [StringSpec("x", 659.3, 0.28, False), StringSpec("x", 440.0, 0.38, False),
             wound(293.7, 0.61), wound(196.0, 0.94)],
        ),
    }  # fmt: skip
