"""Notes to frequencies, against the values of equal temperament at A4 = 440 Hz."""

from __future__ import annotations

import pytest

from analysis.strings.pitch import note_frequency_hz


@pytest.mark.parametrize(
    ("note", "frequency_hz"),
    [
        ("A4", 440.0),
        ("A2", 110.0),
        ("E2", 82.406889),
        ("E4", 329.627557),
        ("C4", 261.625565),
        ("B0", 30.867706),
        ("C#4", 277.182631),
        ("Bb3", 233.081881),
    ],
)
def test_known_notes(note: str, frequency_hz: float) -> None:
    assert note_frequency_hz(note) == pytest.approx(frequency_hz, abs=5e-7)


def test_two_names_of_one_key_agree() -> None:
    assert note_frequency_hz("A#3") == note_frequency_hz("Bb3")
    assert note_frequency_hz("Cb4") == note_frequency_hz("B3")
    assert note_frequency_hz("B#3") == note_frequency_hz("C4")


@pytest.mark.parametrize("note", ["", "E", "4", "H4", "e4", "E44", "E-1", "E4 ", "E##4", "E４"])
def test_anything_else_is_refused(note: str) -> None:
    with pytest.raises(ValueError, match="is no note such as"):
        note_frequency_hz(note)
