"""What is said of strings: near breaking, masses nobody gave, heights by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from analysis.instrument import Instrument
from daq.cli.main import main
from daq.text.strings import heights_words, mass_words, string_cautions

FILE = Path(__file__).resolve().parents[3] / "rig_configs" / "walnut-parlour.yaml"


def with_first(six: Instrument, **what: object) -> Instrument:
    return replace(six, strings=(replace(six.strings[0], **what), *six.strings[1:]))  # type: ignore[arg-type]


def test_a_usual_set_needs_no_caution(six: Instrument) -> None:
    assert string_cautions(six) == []


def test_a_string_near_breaking(six: Instrument) -> None:
    """A4 of steel over 641 mm: 7850 (2 0.641 440)^2 = 2498 MPa, of 2211 0.254^-0.145 = 2697."""
    assert string_cautions(with_first(six, note="A4", frequency_hz=440.0)) == [
        "string 1, A4, is pulled with about 93 % of what breaks steel: tune up to it slowly, eyes "
        "away, and not past it; a lower pitch is safer."
    ]


def test_a_guessed_core_says_so(six: Instrument) -> None:
    heavy = replace(six.strings[3], note="G3", frequency_hz=196.0)
    (line,) = string_cautions(replace(six, strings=(*six.strings[:3], heavy, *six.strings[4:])))
    assert "(its core a guess: give core_mm)" in line


def test_masses_by_material(six: Instrument) -> None:
    both = mass_words(with_first(six, material="nylon", diameter_mm=0.7))
    assert [line.split(":")[0] for line in both] == ["Strings 2 to 6", "String 1"]
    assert "those of nylon of the file's diameter" in both[1]
    assert mass_words(replace(six, strings=tuple(
        replace(s, mass_kg_per_m=1e-3) for s in six.strings))) == []  # fmt: skip


def test_how_good_heights_are(six: Instrument) -> None:
    assert "about 0.02 mm (common practice)" in heights_words(six)
    assert "0.05 mm, as it says" in heights_words(replace(six, u_action_mm=0.05))


def test_a_new_job_warns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "i.yaml"
    file.write_text(FILE.read_text("utf-8").replace("note: E4, gauge", "note: A4, gauge"), "utf-8")

    code = main(["--workshop", str(tmp_path / "w"), "job", "new", "x", "--instrument", str(file)])

    assert code == 0
    assert "neckform: string 1, A4, is pulled with about 93 %" in capsys.readouterr().err
