"""Which crown is which fret: the scan laid over the pattern of equal temperament."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument
from analysis.pattern.anywhere import anywhere
from analysis.pattern.bumps import Bumps, find_bumps
from analysis.pattern.cells import Cells, cells_of
from analysis.pattern.contradicted import contradiction
from analysis.pattern.fit import Fit, fit
from analysis.pattern.lay import lay_out
from analysis.pattern.numbering import Numbering, near
from analysis.pattern.registration import Registration
from analysis.pattern.vote import Guess
from calibration.profile import Profile

#: A scan of a neck shows so many crowns in each pass.
LEAST_CROWNS = 5
#: A numbering less than this much likelier than the next, a logarithm, is a guess: 20 to 1.
SURE = 3.0


@dataclass(frozen=True, slots=True)
class Look:
    """A scan as it is searched for frets. string: float[passes]."""

    cells: Cells
    bumps: Bumps
    string: FloatArray


def look_at(profiles: Sequence[Profile]) -> Look:
    """The profiles on a grid, and their bumps."""
    cells = cells_of(profiles)
    return Look(cells, find_bumps(profiles, cells), np.array([p.string for p in profiles]))


def register(
    profiles: Sequence[Profile], instrument: Instrument, u_screw_scale: float | None = None
) -> Registration:
    """Where the scan's neck lies, by its frets against x_n = L (1 - 2^(-n/12)).

    Every nut and scale near the file's is tried, with odds that count frets seen, frets that
    should be there and are not, and bumps that are no frets (`odds`). Shifting the numbers by k
    frets is the same pattern at scale 2^(-k/12): only what a nut and a scale can be off by tells.
    The likeliest is fitted by least squares. u_screw_scale: of the lead screw's calibration, None
    without one. Raises NeckError where no numbering convinces, two do, the scale length
    contradicts the file, the nut is far off, or the neck lies backwards.
    """
    return registered(look_at(profiles), instrument, u_screw_scale)


def registered(look: Look, instrument: Instrument, u_screw_scale: float | None) -> Registration:
    """As `register`, of a scan that was looked at."""
    _check_enough(look.bumps)
    lay = lay_out(instrument, look.bumps, look.string)
    ranked = near(lay)
    doubt = _doubt(ranked, instrument, u_screw_scale)
    if doubt is not None:
        ranked = sorted([*ranked, *anywhere(lay)], key=lambda one: -one.fit.odds)
        doubt = _doubt(ranked, instrument, u_screw_scale)
    if doubt is not None:
        raise NeckError(doubt)
    best = ranked[0]
    fanned = instrument.scale_bass_mm != instrument.scale_treble_mm
    if best.fit.tells and not fanned:
        # no fan: what is left of one is the frets' own error
        nut, scale, _, _ = best.fit.unknowns.tolist()
        straight = fit(lay, Guess(nut, scale, 0.0), fan_free=False)
        best = best if straight is None else Numbering(lay, straight)
    return _registration(best.fit, look.string, instrument)


def _check_enough(bumps: Bumps) -> None:
    seen = bumps.x_mm.size
    if seen < LEAST_CROWNS * bumps.passes:
        raise NeckError(
            f"the scan shows {seen} crowns in {bumps.passes} passes; a neck shows at least "
            f"{LEAST_CROWNS} in each: is it on the rig, and in the sensor's range?"
        )


def _doubt(
    ranked: Sequence[Numbering], instrument: Instrument, u_screw_scale: float | None
) -> str | None:
    """Why the first of the numberings is not to be taken; None where it is."""
    if not ranked:
        return _nothing(instrument)
    best = ranked[0]
    if not best.convinces:
        return _nothing(instrument, best)
    rivals = (one for one in ranked[1:] if one.fit.odds > best.fit.odds - SURE)
    rival = next((one for one in rivals if not _comes_to_the_same(one, best)), None)
    if rival is not None:
        return (
            f"the crowns fit two numberings about as well, {_words(best)} and {_words(rival)}: "
            "check nut_at_mm and scale_mm, and scan from before the nut to past the last fret"
        )
    return contradiction(best, u_screw_scale)


def _comes_to_the_same(one: Numbering, other: Numbering) -> bool:
    """Backwards is backwards, whatever the numbers."""
    return one.is_same(other) or (one.lay.backwards and other.lay.backwards)


def _words(one: Numbering) -> str:
    middle = 0.5 * (one.lay.instrument.scale_bass_mm + one.lay.instrument.scale_treble_mm)
    nut, scale = one.fit.unknowns[:2]
    if one.lay.backwards:
        return "the neck turned end for end"
    return f"with the nut at {nut:.1f} mm on a scale of {scale * middle:.1f}"


def _nothing(instrument: Instrument, best: Numbering | None = None) -> str:
    middle = 0.5 * (instrument.scale_bass_mm + instrument.scale_treble_mm)
    most = "no numbering fits" if best is None else (
        f"the likeliest numbering explains {best.fit.frets_seen} of {instrument.frets} frets"
    )  # fmt: skip
    return (
        f"the crowns on the scan do not stand like frets of the scale length in the file: {most}; "
        f"check scale_mm ({middle:g}), frets ({instrument.frets}) and nut_at_mm "
        f"({instrument.nut_at_mm:g}), and that the lanes lie on the board"
    )


def _registration(found: Fit, string: FloatArray, instrument: Instrument) -> Registration:
    nut, scale, skew, fan = found.unknowns.tolist()
    u_nut, u_scale, u_skew, u_fan = found.u.tolist()
    return Registration(
        nut, u_nut, scale, u_scale, found.found, skew, u_skew, fan, u_fan, instrument,
        _by_lane(found.covered, string),
    )  # fmt: skip


def _by_lane(covered: NDArray[np.bool_], string: FloatArray) -> NDArray[np.bool_]:
    """bool[frets, lanes] of bool[passes, frets]: whether any pass over the lane went there."""
    strings, lane = np.unique(string, return_inverse=True)
    out = np.zeros((covered.shape[1], strings.size), dtype=bool)
    for one, row in zip(lane, covered, strict=True):
        out[:, one] |= row
    return out
