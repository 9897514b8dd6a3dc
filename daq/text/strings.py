"""What is to be said of the strings an instrument's file names."""

from __future__ import annotations

from analysis.instrument import Instrument
from analysis.strings.materials import MATERIALS, WOUND_MASS_FACTOR
from analysis.strings.soundness import NEAR_BREAKING, breaking_share
from analysis.strings.strings import string_loads
from daq.text.words import named

_COMMON_U_MM = 0.02


def string_cautions(instrument: Instrument) -> list[str]:
    """One line for every string near breaking at its pitch."""
    said = []
    for number, (spec, load) in enumerate(
        zip(instrument.strings, string_loads(instrument), strict=True), start=1
    ):
        share = breaking_share(load, spec)
        if share >= NEAR_BREAKING:
            core = " (its core a guess: give core_mm)" if spec.wound and not spec.core_mm else ""
            said.append(
                f"string {number}, {spec.note}, is pulled with about {100 * share:.0f} % of what "
                f"breaks {spec.material}{core}: tune up to it slowly, eyes away, and not past it; "
                "a lower pitch is safer."
            )
    return said


def heights_words(instrument: Instrument) -> str:
    """Where the string heights come from and how good they are."""
    u = instrument.u_action_mm
    known = f"about {u:g} mm (common practice)" if u == _COMMON_U_MM else f"{u:g} mm, as it says"
    return (
        "String heights over frets 1 and 12 come from the instrument's file, measured by hand, "
        f"good to {known}."
    )


def mass_words(instrument: Instrument) -> list[str]:
    """What masses rest on where the file gives none: one line a material."""
    said = []
    for material in MATERIALS:
        guessed = [
            number
            for number, spec in enumerate(instrument.strings, start=1)
            if spec.mass_kg_per_m is None and spec.material == material
        ]
        if guessed:
            said.append(
                f"{named('String', guessed)}: mass and tension are those of {material} of the "
                f"file's diameter; {_wound(material)} (own estimate)."
            )
    return said


def _wound(material: str) -> str:
    if material == "steel":
        return f"a wound string weighs {WOUND_MASS_FACTOR:g} of solid steel"
    per_m3 = MATERIALS[material].wound_kg_per_m3
    return f"a wound string weighs {per_m3:g} kg for each m³ of its outside"
