"""Whether each string can be played at its pitch: what an instrument file alone can tell."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from analysis.instrument import StringSpec
from analysis.strings.materials import MATERIALS
from analysis.strings.pitch import note_frequency_hz
from analysis.strings.soundness import breaking_share, everyday_swing_mm, least_pull_n
from analysis.strings.strings import StringLoad, core_mm, stress_pa, string_load
from daq.files.faults import Fault
from daq.files.instrument_checks import MM_PER_INCH
from daq.files.known import Known

NUMBERS = ("gauge_in", "mass_kg_per_m", "core_mm", "core_in")
#: Wide of anything strung in earnest, to the bass; catches most slips of an octave.
MOST_PULL_N = 300.0
PASCAL_PER_MPA = 1e6


def string_rules(known: Known) -> Iterator[Fault]:
    """Faults of single strings: cores that cannot be, pulls and stresses no string is made for."""
    for number in known.steps("strings"):
        faults = list(_cores(known, number))
        yield from faults
        length_mm = _length_mm(known, number)
        spec = None if faults else _spec(known, number)
        if spec is not None and length_mm is not None:
            yield from _at_pitch(number, spec, length_mm)


def frequency_hz(known: Known, number: int | str) -> float | None:
    """Of a string's note, where the file gives one."""
    note = known.text("strings", number, "note")
    return None if note is None else note_frequency_hz(note)


def _cores(known: Known, number: int | str) -> Iterator[Fault]:
    at = ("strings", number)
    core, inch = known.number(*at, "core_mm"), known.number(*at, "core_in")
    if core is None and inch is None:
        return
    if core is not None and inch is not None:
        yield Fault((*at, "core_in"), "a core in mm and in inches", "one of core_mm and core_in")
        return
    key = "core_mm" if inch is None else "core_in"
    if known.get(*at, "wound") is not True:
        allowed = "no core for a plain string"
        yield Fault((*at, key), "a core", allowed, "write wound: true where it is wound")
        return
    yield from _thick(known, number, key, MM_PER_INCH if inch is None else 1.0)


def _thick(known: Known, number: int | str, key: str, per_inch: float) -> Iterator[Fault]:
    gauge, core = known.number("strings", number, "gauge_in"), known.number("strings", number, key)
    if gauge is not None and core is not None and core >= per_inch * gauge:
        allowed = f"less than the string itself, {per_inch * gauge:.4g}"
        yield Fault(("strings", number, key), f"{core:g}", allowed)


def _spec(known: Known, number: int | str) -> StringSpec | None:
    """None where anything that the string's pull hangs on is at fault."""
    at = ("strings", number)
    group, hz = known.get(*at), frequency_hz(known, number)
    values = {key: known.number(*at, key) for key in NUMBERS}
    if hz is None or values["gauge_in"] is None or not isinstance(group, dict):
        return None
    material = group.get("material", "steel")
    lost = [key for key in NUMBERS if group.get(key) is not None and values[key] is None]
    if lost or known.get(*at, "material") != group.get("material") or material not in MATERIALS:
        return None
    core, inch = values["core_mm"], values["core_in"]
    return StringSpec(
        str(known.text(*at, "note")),
        hz,
        values["gauge_in"] * MM_PER_INCH,
        known.get(*at, "wound") is True,
        values["mass_kg_per_m"],
        material,
        core if inch is None else inch * MM_PER_INCH,
    )


def _length_mm(known: Known, number: int | str) -> float | None:
    """Nut to saddle; compensation is left out where it is at fault."""
    scale = _scale_mm(known, number)
    one = known.number("compensation_mm")
    given = {s: known.number("compensation_mm", s) for s in known.steps("compensation_mm")}
    past = sorted((s, mm) for s, mm in given.items() if isinstance(s, int) and mm is not None)
    if scale is None or not past:
        return scale if scale is None or one is None else scale + one
    at, by = zip(*past, strict=True)
    return scale + float(np.interp(float(number), at, by))


def _scale_mm(known: Known, number: int | str) -> float | None:
    alike = known.number("scale_mm")
    bass, treble = known.number("scale_mm", "bass"), known.number("scale_mm", "treble")
    if alike is not None or bass is None or treble is None:
        return alike
    share = (float(number) - 1.0) / max(len(known.steps("strings")) - 1, 1)
    return treble + share * (bass - treble)


def _at_pitch(number: int | str, spec: StringSpec, length_mm: float) -> Iterator[Fault]:
    """One line a string: pulls too hard for any, too slack to play, or breaks."""
    load = string_load(spec, length_mm)
    least, pull = least_pull_n(length_mm), load.tension_n
    said = f"{spec.note} with a gauge of {spec.diameter_mm / MM_PER_INCH:g} inch"
    if pull > MOST_PULL_N or pull < least:
        yield Fault(
            ("strings", number),
            f"{said}, a pull of about {pull:.0f} N{_slack(pull, least, length_mm)}",
            f"{least:.0f} to {MOST_PULL_N:g} N",
            "check note, octave and gauge; a string that is not steel needs its material "
            "or mass_kg_per_m",
        )
    elif breaking_share(load, spec) >= 1.0:
        yield _breaks(number, spec, load, said)


def _slack(pull: float, least: float, length_mm: float) -> str:
    if pull >= least:
        return ""
    return (
        f", so slack that it would rattle: an everyday pluck swings it "
        f"{everyday_swing_mm(pull, length_mm):.1f} mm over fret 12"
    )


def _breaks(number: int | str, spec: StringSpec, load: StringLoad, said: str) -> Fault:
    strength = MATERIALS[spec.material].strength_at_pa(core_mm(spec)) / PASCAL_PER_MPA
    what = f"its core of {core_mm(spec):.2f} mm" if spec.wound else "it"
    return Fault(
        ("strings", number),
        f"{said}, which would break: {what} is pulled with "
        f"{stress_pa(load, spec) / PASCAL_PER_MPA:.0f} MPa",
        f"less than the strength of {spec.material}, about {strength:.0f} MPa",
        "tune lower; where the pitch is right give the core's own core_mm"
        if spec.wound and spec.core_mm is None
        else "check note, octave and material, or tune lower: a thicker string does not help"
        if not spec.wound
        else "check note, octave and core, or tune lower",
    )
