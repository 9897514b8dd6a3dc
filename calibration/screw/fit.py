"""The screw from the fret pattern, where the scale length is trusted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri

from calibration.passes import FloatArray
from calibration.screw.fretlines import Lines, Solved, Strip, lines, solve
from calibration.screw.pitch import Pitches, find_pitch, gains, pitches_told, wave
from calibration.screw.screw import Screw, ScrewError

#: How well frets stand where the scale length puts them, mm, standard (own estimate).
MISPLACED_MM = 0.03
#: Fewer frets than this say nothing of a screw.
LEAST_FRETS = 8
#: A periodic error is taken for real where chance would show as much once in so many.
UNLIKELY = 0.01
#: The same where the pitch is not known: so many are tried that a wrong one may well look right.
UNLIKELY_SEARCHED = 0.001
#: A placement this little from another is the same one.
MOVED_MM = 0.2
#: No screw's scale is that wrong.
SCALE_LIMIT = 0.006


@dataclass(frozen=True, slots=True)
class ScrewFit:
    """What the crowns say.

    screw: with a periodic error only where one was seen (`periodic`); most_um: what may have
    gone unseen of one, 95 %, or what the one seen is at most. misplaced_um: standard deviation
    of the frets' places that was reckoned with. scatter_um: of a crown about all else.
    unseen: what these placements cannot tell, in words.
    """

    screw: Screw
    periodic: bool
    most_um: float
    misplaced_um: float
    scatter_um: float
    placements: int
    unseen: tuple[str, ...]


def fit_screw(
    strips: Sequence[Strip], pitch_mm: float | None = None, misplaced_mm: float = MISPLACED_MM
) -> ScrewFit:
    """Scale and periodic error by least squares over all crowns, frets out of place included.

    L_n + m_n + m_nl = o_p + s x + a sin(2 pi x / P) + b cos(2 pi x / P): fret n by the scale
    length L_n and how far it is out of place (m_n all along it, m_nl in lane l), the place o_p of
    each pass, its count x. m_n has a standard deviation of misplaced_mm, more where the crowns
    say so. One placement of the neck tells a periodic error from misplaced frets only by that;
    several, moved by no whole turn of the screw, do so by themselves.

    pitch_mm: of the screw, where it is known; searched for otherwise. Raises ScrewError.
    """
    _check(strips)
    setting, plain = _with_spread(strips, misplaced_mm)
    pitches = _pitches(setting, pitch_mm, plain.grown)
    waved = solve(setting, wave(setting, pitches.best_mm))
    # the chance that any of so many pitches gains as much
    chance = UNLIKELY if pitch_mm is not None else UNLIKELY_SEARCHED / pitches_told(setting)
    seen = pitches.gained / waved.grown > float(chdtri(2, chance))
    periodic = seen and pitches.rival_mm is None
    # a pitch that was searched for is a third unknown of the wave
    share = 1.0 if pitch_mm is not None else float(np.sqrt(1.5))
    found = _Found(setting, waved if periodic else plain, waved, share)
    count = len({one.placement for one in strips})
    most = 1e3 * found.most_mm
    return ScrewFit(
        screw=_screw(found, pitches.best_mm, periodic),
        periodic=periodic,
        most_um=most,
        misplaced_um=1e3 * setting.misplaced_mm,
        scatter_um=1e3 * found.scatter_mm,
        placements=count,
        unseen=_unseen(count, most, pitches if seen else None),
    )


def _pitches(setting: Lines, pitch_mm: float | None, grown: float) -> Pitches:
    if pitch_mm is None:
        return find_pitch(setting, grown)
    return Pitches(pitch_mm, float(gains(setting, np.array([1.0 / pitch_mm]))[0]), None)


def _check(strips: Sequence[Strip]) -> None:
    frets = {int(n) for strip in strips for n in strip.fret}
    if len(frets) < LEAST_FRETS:
        raise ScrewError(
            f"crowns of {len(frets)} frets were found; a screw needs {LEAST_FRETS} or more"
        )
    places: dict[int, float] = {}
    for one in strips:
        places.setdefault(one.placement, float(np.mean(one.counted_mm - one.pattern_mm)))
    stands = sorted(places.values())
    if len(stands) > 1 and float(np.min(np.diff(stands))) < MOVED_MM:
        raise ScrewError(
            f"two placements of the neck are the same within {MOVED_MM:g} mm; move it along the "
            "rail by some millimetres between them"
        )


def _with_spread(strips: Sequence[Strip], misplaced_mm: float) -> tuple[Lines, Solved]:
    """The squares with frets as far out of place as given, or further where they are."""
    setting = lines(strips, misplaced_mm)
    plain = solve(setting)
    found = plain.unknowns[setting.fret_columns]
    # a fret's estimate is drawn to 0 by what is not known of it
    known = misplaced_mm**2 - np.diag(plain.covariance)[setting.fret_columns]
    free = found.size - 2
    excess = float(np.sum(found**2 / np.maximum(known, 0.01 * misplaced_mm**2)))
    if excess > float(chdtri(free, UNLIKELY)):
        setting = lines(strips, misplaced_mm * float(np.sqrt(excess / free)))
        plain = solve(setting)
    return setting, plain


@dataclass(frozen=True, slots=True)
class _Found:
    """kept: the fit whose scale is kept; waved: the one with a wave, whether kept or not."""

    setting: Lines
    kept: Solved
    waved: Solved
    pitch_share: float

    @property
    def wave_mm(self) -> FloatArray:
        return self.waved.unknowns[-2:]

    @property
    def u_wave_mm(self) -> float:
        """Of a wave's value somewhere along the travel."""
        variance = float(np.mean(np.diag(self.waved.covariance)[-2:])) * self.waved.grown
        return self.pitch_share * float(np.sqrt(variance))

    @property
    def most_mm(self) -> float:
        return float(np.linalg.norm(self.wave_mm)) + 1.645 * self.u_wave_mm

    @property
    def scatter_mm(self) -> float:
        rest = self.kept.rest * self.setting.u_mm
        return float(np.sqrt(rest @ rest / self.kept.free))


def _screw(found: _Found, pitch_mm: float, periodic: bool) -> Screw:
    column = found.setting.scale_column
    sine, cosine = found.wave_mm.tolist() if periodic else (0.0, 0.0)
    variance = float(found.kept.covariance[column, column]) * found.kept.grown
    return Screw(
        scale=1.0 + float(found.kept.unknowns[column]),
        u_scale=float(np.sqrt(variance)),
        middle_mm=found.setting.middle_mm,
        pitch_mm=pitch_mm,
        sine_mm=sine,
        cosine_mm=cosine,
        # of one unseen: a wave's rms, with most_mm as its 95 % limit
        u_periodic_mm=found.u_wave_mm if periodic else found.most_mm / (2.0 * np.sqrt(2.0)),
    )


def _unseen(count: int, most_um: float, seen: Pitches | None) -> tuple[str, ...]:
    words = [
        "The scale is as good as scale_mm: 0.1 mm wrong in a scale of 640 mm is 156 ppm here. A "
        "neck that lies askew to the rail looks short: by 50 ppm for 5 mm in 500 mm."
    ]
    if count == 1:
        words.append(
            "One placement of the neck cannot tell a periodic error of the screw from frets out "
            f"of place: up to {most_um:.0f} µm of it stays unseen. Use --placements 3 or more."
        )
    if seen is not None and seen.rival_mm is not None:
        words.append(
            f"A periodic error is there, but a pitch of {seen.best_mm:.3f} mm explains it as well "
            f"as one of {seen.rival_mm:.3f} mm: give --pitch-mm, or use more placements."
        )
    return tuple(words)
