"""The truss rod in words: where it stands, and what it does on this neck."""

from __future__ import annotations

from daq.reading.settings import RodSetting
from daq.text.words import fixed


def setting_words(turns: float) -> str:
    """Where the rod stands: 0.25 turn tighter than when the job was opened."""
    if abs(turns) < 0.005:
        return "as it was when the job was opened"
    way = "tighter" if turns > 0 else "looser"
    unit = "turn" if abs(turns) <= 1 else "turns"
    return f"{fixed(abs(turns), 2)} {unit} {way} than when the job was opened"


def setting_sentence(setting: RodSetting) -> str:
    """The setting a scan is taken to have, and why."""
    said = f"The rod stands {setting_words(setting.turns)}"
    if setting.taken_from is None:
        return f"{said}."
    return (
        f"{said}, as in {setting.taken_from.name}: nothing else was said. If it has been turned "
        "since, move this scan away and scan again with --rod TURNS."
    )
