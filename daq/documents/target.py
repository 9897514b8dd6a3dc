"""What was asked of a plan, as a target file has it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.plan.target import Target
from analysis.strings.playing import PlayingProfile
from daq.documents.playing import playing_document


def target_document(playing: PlayingProfile, target: Target) -> dict[str, Any]:
    """Every key of a target file; the player always by the keys of a playing file."""
    held, shape = target.held, target.shape
    return {
        "playing": playing_document(playing),
        "rod": "keep" if "rod" in target.keep else _or_free(target.turns),
        "saddles": "keep" if "saddles" in target.keep else _or_free(_by_string(target.saddle_mm)),
        "nut": "keep" if "nut" in target.keep else _or_free(_by_string(target.nut_mm)),
        "hold": {
            "frets": sorted(held.frets),
            "strings": sorted(held.strings),
            "places": sorted(map(list, held.places)),
        },
        "shape": shape
        and {
            "frets": list(shape.frets),
            "off_mm": list(shape.off_mm),
            "hollow_mm": shape.hollow_mm,
        },
    }


def _by_string(changes: Mapping[int, float]) -> dict[str, float] | None:
    return {str(string): float(changes[string]) for string in sorted(changes)} or None


def _or_free(asked: Any) -> Any:
    return "free" if asked is None else asked
