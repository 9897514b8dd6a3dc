"""What a plan rests on that nobody measured, said openly."""

from __future__ import annotations

from analysis.instrument import Instrument
from analysis.plan.plan import Plan
from analysis.rod.rod import GAIN_DOUBT, RELIEF_PER_TURN_MM, Rod
from daq.text.rod_words import per_turn_words
from daq.text.setup import LEAST_RELIEF_MM
from daq.text.strings import heights_words, mass_words

_SHARES = {0.25: "a quarter", 0.5: "half", 0.1: "a tenth"}


def playing_sentence(plan: Plan) -> str:
    """Who plays."""
    p = plan.playing
    bends = f"bends of {p.bend_semitones:g} semitones" if p.bend_semitones > 0 else "no bends"
    return (
        f"Playing: {p.name}; plucked with {p.pluck_force_n:g} N, {p.pluck_from_saddle_mm:g} mm "
        f"from the saddle; {bends}; frets no lower than {p.least_fret_mm:g} mm; every margin "
        f"clears {p.guard:g} standard uncertainties."
    )


def _rod(rod: Rod) -> str:
    if rod.learnt:
        return (
            f"One turn of the rod takes out {per_turn_words(rod)}, learnt from this neck's scans "
            "at several settings (see `neckform rod`). The plan holds within that, and within "
            "what is uncertain of the rod's shape."
        )
    share = _SHARES.get(GAIN_DOUBT, f"{100 * GAIN_DOUBT:.0f} %")
    return (
        f"One turn of the rod is taken for {RELIEF_PER_TURN_MM:g} mm of relief: a default, "
        "common practice, no source. The plan holds with the rod "
        f"{share} weaker or stronger, and whether or not the body follows the neck. Two scans of "
        "one state at two settings of the rod teach it better (`neckform scan --rod`)."
    )


def assumptions(plan: Plan, instrument: Instrument) -> list[str]:
    """The rod, string heights by hand, string masses."""
    said = []
    if abs(plan.relief_change_mm) >= LEAST_RELIEF_MM:
        said.append(_rod(plan.rod))
    return [*said, heights_words(instrument), *mass_words(instrument)]
