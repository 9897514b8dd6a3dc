"""The player, as a playing file has it."""

from __future__ import annotations

from typing import Any

from analysis.strings.playing import PlayingProfile


def playing_document(playing: PlayingProfile) -> dict[str, Any]:
    """Under the keys of a playing file, as given; those a file may leave out only where given."""
    given: dict[str, Any] = {}
    if playing.least_bending_fret_mm is not None:
        given["least_bending_fret_mm"] = float(playing.least_bending_fret_mm)
    if playing.bend_frets is not None:
        given["bend_frets"] = list(playing.bend_frets)
    return {
        "name": playing.name,
        "pluck_force_n": float(playing.pluck_force_n),
        "pluck_from_saddle_mm": float(playing.pluck_from_saddle_mm),
        "bend_semitones": float(playing.bend_semitones),
        "least_fret_mm": float(playing.least_fret_mm),
        "highest_action_mm": {
            str(string): float(playing.highest_action_mm[string])
            for string in sorted(playing.highest_action_mm)
        },
        "guard": float(playing.guard),
        **given,
    }
