"""What an instrument file may say of strings and saddles, and strings no hand can play."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daq.errors import InputError
from daq.files.instrument import parse_instrument

PLAIN = "note: E4, gauge_in: 0.010"
WOUND = "note: D3, gauge_in: 0.026, wound: true"
NOT_STEEL = "a string that is not steel needs its material or mass_kg_per_m"


def test_old_files_read_as_before(instrument_text: str) -> None:
    record = parse_instrument(instrument_text, "i.yaml").record

    assert record.compensation_mm == (0.0,) * 6
    assert record.u_action_mm == 0.02
    assert {(spec.material, spec.core_mm) for spec in record.strings} == {("steel", None)}


@pytest.mark.parametrize(
    ("given_mm", "past"),
    [
        ("{1: 1.2, 6: 3.7}", (1.2, 1.7, 2.2, 2.7, 3.2, 3.7)),
        ("2", (2.0,) * 6),
        ("{1: -0.5, 3: 1.5}", (-0.5, 0.5, 1.5, 1.5, 1.5, 1.5)),
    ],
)
def test_saddles_past_the_scale(
    instrument_text: str, given_mm: str, past: tuple[float, ...]
) -> None:
    record = parse_instrument(f"{instrument_text}compensation_mm: {given_mm}\n", "i.yaml").record

    assert record.compensation_mm == pytest.approx(past)
    assert record.speaking_mm(record.string_numbers) == pytest.approx(641.0 + np.array(past))


@settings(
    deadline=None, max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.floats(-5, 15).map(lambda mm: round(mm, 3)), min_size=6, max_size=6))
def test_compensation_comes_back_as_it_was_written(instrument_text: str, past: list[float]) -> None:
    """Each saddle lies where its string says, and no fret moves."""
    said = ", ".join(f"{number}: {mm}" for number, mm in enumerate(past, start=1))
    plain = parse_instrument(instrument_text, "i.yaml").record
    record = parse_instrument(f"{instrument_text}compensation_mm: {{{said}}}\n", "i.yaml").record

    strings = record.string_numbers
    moved = record.saddle_x_mm(strings) - plain.saddle_x_mm(strings)
    np.testing.assert_allclose(moved, past, atol=1e-9)
    frets = np.arange(1.0, 23.0)[:, None]
    assert np.array_equal(record.fret_x_mm(frets, strings), plain.fret_x_mm(frets, strings))


def test_how_well_heights_are_measured(instrument_text: str) -> None:
    record = parse_instrument(f"{instrument_text}u_action_mm: 0.05\n", "i.yaml").record

    assert record.u_action_mm == 0.05


@pytest.mark.parametrize("core", ["core_mm: 0.3302", "core_in: 0.013"])
def test_a_core_in_either_unit(instrument_text: str, core: str) -> None:
    text = instrument_text.replace(WOUND, f"{WOUND}, {core}")

    assert parse_instrument(text, "i.yaml").record.strings[3].core_mm == pytest.approx(0.3302)


def test_nylon_is_lighter(instrument_text: str) -> None:
    text = instrument_text.replace(PLAIN, "note: E4, gauge_in: 0.028, material: nylon")

    assert parse_instrument(text, "i.yaml").record.strings[0].material == "nylon"


@pytest.mark.parametrize(
    ("good", "bad", "line"),
    [
        (
            PLAIN,
            f"{PLAIN}, material: nylom",
            "i.yaml:8: strings[1].material: found text 'nylom'; "
            "allowed steel or nylon or fluorocarbon or gut; did you mean nylon?",
        ),
        (
            PLAIN,
            f"{PLAIN}, core_mm: 0.2",
            "i.yaml:8: strings[1].core_mm: found a core; allowed no core for a plain string; "
            "write wound: true where it is wound",
        ),
        (
            WOUND,
            f"{WOUND}, core_mm: 0.7",
            "i.yaml:11: strings[4].core_mm: found 0.7; allowed less than the string itself, 0.6604",
        ),
        (
            WOUND,
            f"{WOUND}, core_mm: 0.3, core_in: 0.012",
            "i.yaml:11: strings[4].core_in: found a core in mm and in inches; "
            "allowed one of core_mm and core_in",
        ),
        (
            "note: E4, gauge_in: 0.010",
            "note: E3, gauge_in: 0.008",
            "i.yaml:8: strings[1]: found E3 with a gauge of 0.008 inch, a pull of about 11 N, so "
            "slack that it would rattle: an everyday pluck swings it 3.2 mm over fret 12; "
            f"allowed 14 to 300 N; check note, octave and gauge; {NOT_STEEL}",
        ),
        (
            "note: E4, gauge_in: 0.010",
            "note: C5, gauge_in: 0.010",
            "i.yaml:8: strings[1]: found C5 with a gauge of 0.01 inch, which would break: "
            "it is pulled with 3532 MPa; allowed less than the strength of steel, about 2697 MPa; "
            "check note, octave and material, or tune lower: a thicker string does not help",
        ),
        (
            "note: E4, gauge_in: 0.010",
            "note: A4, gauge_in: 0.028, material: gut",
            "i.yaml:8: strings[1]: found A4 with a gauge of 0.028 inch, which would break: "
            "it is pulled with 414 MPa; allowed less than the strength of gut, about 320 MPa; "
            "check note, octave and material, or tune lower: a thicker string does not help",
        ),
        (
            WOUND,
            "note: G3, gauge_in: 0.036, wound: true, core_mm: 0.28",
            "i.yaml:11: strings[4]: found G3 with a gauge of 0.036 inch, which would break: its "
            "core of 0.28 mm is pulled with 4651 MPa; allowed less than the strength of steel, "
            "about 2659 MPa; check note, octave and core, or tune lower",
        ),
        (
            "{1: 0.4, 6: 0.5}",
            "{1: 0.4, 6: 0.5}\ncompensation_mm: {1: 1.2, 7: 3}",
            "i.yaml:17: compensation_mm[7]: found string 7; allowed strings 1 to 6",
        ),
        (
            "{1: 0.4, 6: 0.5}",
            "{1: 0.4, 6: 0.5}\ncompensation_mm: [1, 3]",
            "i.yaml:17: compensation_mm: found a list of 2; "
            "allowed a number from -5 to 15 mm, or a group from string number to mm",
        ),
        (
            "{1: 0.4, 6: 0.5}",
            "{1: 0.4, 6: 0.5}\nu_action_mm: 0",
            "i.yaml:17: u_action_mm: found 0; allowed a number from 0.001 to 0.5 mm",
        ),
    ],
)
def test_a_mistake_gives_exactly_its_line(
    instrument_text: str, good: str, bad: str, line: str
) -> None:
    assert good in instrument_text

    with pytest.raises(InputError) as caught:
        parse_instrument(instrument_text.replace(good, bad, 1), "i.yaml")

    assert str(caught.value).splitlines()[0] == line


HEAD = """\
name: x
scale_mm: {scale}
frets: {frets}
body_joint_fret: 14
board: {{radius_mm: 300, width_mm: [{width}, {end}]}}
nut_at_mm: 61
strings:
{strings}
spacing_mm: [{nut}, {bridge}]
action_mm: {{1: 1.6}}
nut_gap_mm: {{1: 0.4}}
"""


def made(scale: int, spacing: float, strings: list[str]) -> str:
    lines = "\n".join("  - {" + entry + "}" for entry in strings)
    width = spacing * len(strings)
    return HEAD.format(
        scale=scale, frets=20, width=width, end=width + 12, strings=lines, nut=spacing,
        bridge=spacing + 2,
    )  # fmt: skip


def wound(note: str, gauge: float) -> str:
    return f"note: {note}, gauge_in: {gauge}, wound: true"


@pytest.mark.parametrize(
    ("scale", "spacing", "strings"),
    [
        (864, 10, [wound("G2", 0.045), wound("D2", 0.065), wound("A1", 0.08), wound("E1", 0.105)]),
        (889, 9, [wound("G2", 0.045), wound("D2", 0.065), wound("A1", 0.08), wound("E1", 0.105),
                  wound("B0", 0.13)]),
        (380, 9, ["note: A4, gauge_in: 0.024, material: nylon",
                  "note: E4, gauge_in: 0.032, material: nylon",
                  "note: C4, gauge_in: 0.034, material: nylon",
                  "note: G4, gauge_in: 0.026, material: nylon"]),
        (650, 9, ["note: E4, gauge_in: 0.028, material: nylon",
                  "note: B3, gauge_in: 0.032, material: nylon",
                  "note: G3, gauge_in: 0.040, material: nylon",
                  wound("D3", 0.029) + ", material: nylon",
                  wound("A2", 0.035) + ", material: nylon",
                  wound("E2", 0.043) + ", material: nylon"]),
        (648, 4, ["note: E4, gauge_in: 0.010", "note: E4, gauge_in: 0.010",
                  "note: B3, gauge_in: 0.014", "note: B3, gauge_in: 0.014",
                  "note: G4, gauge_in: 0.009", wound("G3", 0.023),
                  "note: D4, gauge_in: 0.012", wound("D3", 0.030),
                  "note: A3, gauge_in: 0.018", wound("A2", 0.039),
                  wound("E3", 0.027), wound("E2", 0.047)]),
        (648, 7, ["note: E4, gauge_in: 0.012", "note: B3, gauge_in: 0.016", wound("G3", 0.020),
                  wound("D3", 0.028), wound("A2", 0.038), wound("E2", 0.048), wound("B1", 0.064)]),
    ],
    ids=["bass", "five-string bass", "ukulele", "classical", "twelve-string", "seven-string"],
)  # fmt: skip
def test_usual_sets_are_no_fault(scale: int, spacing: float, strings: list[str]) -> None:
    """Common practice, no source; gauges from memory."""
    record = parse_instrument(made(scale, spacing, strings), "i.yaml").record

    assert len(record.strings) == len(strings)
