"""Wear of the frets under the strings: how deep, how flat, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray, Instrument
from analysis.neck.neck import Neck
from analysis.wear.loose import SIGMAS, ways_off_mm
from analysis.wear.unworn import Unworn, unworn_lines

VERDICTS = ("round", "leave", "crown", "dented", "worn out", "not known")
#: A lane further than this from its string does not show the bottom of the dent under it, mm
#: (own choice: a quarter of a millimetre off a hollow of 1 mm standard width hides 3 % of it).
FURTHEST_MM = 0.75
#: A hollow's edge may reach the lanes beside it, and so hide this share of itself (own choice:
#: one of 1.2 mm standard width, 3.5 mm from them, 1.4 % each).
HIDDEN_SHARE = 0.02
#: So many standard uncertainties make a dent, or a flat, more than a guess.
SURE = 2.0
#: A dent shallower than this is levelled away with the next dressing or never felt, mm (own
#: choice: what a few strokes of a levelling file take off).
DEEP_MM = 0.02
#: A narrower flat is round for all purposes, mm (own choice: on a crown of 1.2 mm radius 0.15 mm
#: lie 0.002 mm under the round).
NARROW_MM = 0.15
#: Up to this share of the crown's width a flat is left (common practice, no source).
LEAVE_SHARE = 1.0 / 3.0
#: A string sounds from its flat's edge, not from its middle: so much out of tune is heard, cents
#: (value from memory).
HEARD_CENTS = 5.0
#: Under this height a fret is done for, mm (common practice, no source; value from memory).
DONE_FOR_MM = 0.5
#: A hollow is as wide as it is a tenth deep: of a Gauss curve, that many standard widths.
TENTH_SIGMAS = 2.0 * np.sqrt(2.0 * np.log(10.0))


@dataclass(frozen=True, slots=True)
class Wear:
    """[frets, strings], NaN where not known.

    dent_mm, u_dent_mm: depth of the top under the string below what the same fret has beside
    it; a ball that bridges a narrow hollow reads less than its depth (`bridged_mm`).
    dent_width_mm: across the fret, where the hollow is still a tenth deep; NaN where no lane
    beside the string lies in it. flat_mm, u_flat_mm: width of the flat along the string.
    verdict: one of VERDICTS. "round": no flat to speak of, no dent. "leave": a flat that
    neither buzzes nor detunes. "crown": a flat to be made round again after levelling.
    "dented": deeper than a file should follow by the way. "worn out": too low, or too low once
    the fret is levelled to the dent's bottom.
    """

    dent_mm: FloatArray
    u_dent_mm: FloatArray
    dent_width_mm: FloatArray
    flat_mm: FloatArray
    u_flat_mm: FloatArray
    verdict: NDArray[np.str_]


def wear_of(neck: Neck, instrument: Instrument) -> Wear:
    """Of an unstrung neck, from its lanes under the strings and between them."""
    strings = instrument.string_numbers
    frets = np.arange(1.0, instrument.frets + 1.0)[:, None]
    lanes = _lanes(neck, strings)
    unworn = unworn_lines(neck)
    x = instrument.fret_x_mm(frets, strings)
    aside = np.abs(_of(neck.y_mm, lanes) - instrument.string_y_mm(strings, x))
    near = aside < FURTHEST_MM
    dent = np.where(near, -_of(unworn.off_mm, lanes), np.nan)
    u_top = np.hypot(_of(unworn.u_mm, lanes), _of(_ways_mm(neck), lanes))
    u_dent = np.where(near, np.hypot(u_top, HIDDEN_SHARE * dent), np.nan)
    flat = np.where(near, _of(neck.flat_mm, lanes), np.nan)
    u_flat = np.where(near, _of(neck.u_flat_mm, lanes), np.nan)
    height = np.where(near, _of(neck.height_mm, lanes), np.nan)
    limit = np.minimum(
        LEAVE_SHARE * 2.0 * _of(neck.radius_mm, lanes), _detuning_mm(instrument, x, strings)
    )
    sure = np.isfinite(dent) & (dent > SURE * u_dent)
    return Wear(
        dent,
        u_dent,
        np.where(sure, _width_mm(neck, unworn, strings, dent), np.nan),
        flat,
        u_flat,
        _verdicts(dent, sure, flat, u_flat, limit, height),
    )


def bridged_mm(depth_mm: float, ball_mm: float) -> float:
    """A hollow narrower than this is deeper than a ball reads it: the ball stands on its edges.

    Sinking by d between two edges, a ball of radius r touches over 2 sqrt(2 r d - d^2). A light
    spot (ball 0) is not held up.
    """
    depth = min(depth_mm, ball_mm)
    return 2.0 * float(np.sqrt(max(2.0 * ball_mm * depth - depth**2, 0.0)))


def _lanes(neck: Neck, strings: FloatArray) -> NDArray[np.int_]:
    """[strings]: the lane of each, -1 where it has none."""
    same = neck.string[None, :] == strings[:, None]
    return np.where(same.any(axis=1), np.argmax(same, axis=1), -1)


def _of(values: FloatArray, lanes: NDArray[np.int_]) -> FloatArray:
    """Columns of the lanes, NaN where there is none."""
    return np.where(lanes >= 0, values[:, lanes], np.nan)


def _ways_mm(neck: Neck) -> FloatArray:
    """Half of what passes there and back differ by, where that is out of line."""
    off, u = ways_off_mm(neck)
    return np.where(np.abs(off) > SIGMAS * u, 0.5 * np.abs(off), 0.0)


def _detuning_mm(instrument: Instrument, x_mm: FloatArray, strings: FloatArray) -> FloatArray:
    """The flat whose edge, half of it from its middle, shortens the string by what is heard."""
    sounding = instrument.saddle_x_mm(strings) - x_mm
    return np.asarray(2.0 * sounding * (1.0 - 2.0 ** (-HEARD_CENTS / 1200.0)))


def _width_mm(neck: Neck, unworn: Unworn, strings: FloatArray, dent_mm: FloatArray) -> FloatArray:
    """Of a Gauss curve through the dent's bottom and the lanes beside it.

    A lane d away that lies a share g of the depth under the line tells the standard width,
    d / sqrt(-2 ln g). Where both neighbours do, their mean counts; where one of them does not,
    what the other shows is not this hollow's.
    """
    widths = []
    for side in (-0.5, 0.5):
        beside = _lanes(neck, strings + side)
        own = _lanes(neck, strings)
        drop, u = -_of(unworn.off_mm, beside), _of(unworn.u_mm, beside)
        share = np.where(drop > 3.0 * u, drop / dent_mm, np.nan)
        away = np.abs(_of(neck.y_mm, beside) - _of(neck.y_mm, own))
        with np.errstate(invalid="ignore", divide="ignore"):
            told = (
                TENTH_SIGMAS * away / np.sqrt(-2.0 * np.log(np.where(share < 1.0, share, np.nan)))
            )
        # past an outer string there is no lane to ask
        widths.append(np.where(np.isfinite(drop), told, np.inf))
    left, right = widths
    both = 0.5 * (left + right)
    one = np.where(np.isinf(left), right, np.where(np.isinf(right), left, both))
    return np.where(np.isinf(one), np.nan, one)


def _verdicts(
    dent: FloatArray,
    sure: NDArray[np.bool_],
    flat: FloatArray,
    u_flat: FloatArray,
    limit: FloatArray,
    height: FloatArray,
) -> NDArray[np.str_]:
    """The worst that holds; what is not known is no reason."""
    after = np.nanmin(height + np.where(sure, dent, 0.0), axis=1, initial=np.inf)[:, None]
    deep = sure & (dent > DEEP_MM)
    too_low = (height < DONE_FOR_MM) | (deep & (after - dent < DONE_FOR_MM))
    is_round = (flat < NARROW_MM) | (flat < SURE * u_flat)
    said = np.where(is_round, "round", np.where(flat <= limit, "leave", "crown"))
    told = (np.isfinite(dent) & np.isfinite(flat)) | (said == "crown") & np.isfinite(flat)
    said = np.where(told, said, "not known")
    return np.where(too_low, "worn out", np.where(deep, "dented", said))
