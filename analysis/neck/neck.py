"""One scan read: fret tops and board under every lane, in the rig's own frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.board.arc import Arc, ball_on_slope_mm, fit_arc
from analysis.board.blocks import gap_middles_mm
from analysis.board.board import Board, read_board
from analysis.board.climb import Climb
from analysis.crowns.fit import Crowns, fit_crowns
from analysis.crowns.trace import Eye, taken_off_mm
from analysis.crowns.windows import gather
from analysis.faults import NeckError
from analysis.instrument import FloatArray, Instrument, joint_mm
from analysis.neck.lean import U_LEAN, chord_slope, lean_of, rise_mm
from analysis.neck.passes import Passes
from analysis.neck.plane import off_plane
from analysis.neck.rail import RailAlong
from analysis.neck.terms import Terms
from analysis.pattern.bumps import LOWEST_CROWN_MM
from analysis.pattern.register import register
from analysis.pattern.registration import Registration
from calibration.profile import Profile


@dataclass(frozen=True, slots=True)
class Tip:
    """What touches or sees the neck: a ball's radius, or a light spot's width (ball 0)."""

    ball_mm: float
    spot_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Neck:
    """Everything one scan says, one column a lane. Heights in the rig's frame, up, mm.

    string: float[lanes]. x_mm, y_mm: [frets, lanes], on the neck. top_mm, u_top_mm: fret tops
    with the uncertainty of noise, shape, drift and tip; u_rail_mm: [frets, lanes], what the
    rail map adds, the same for all lanes at one x. flat_mm, u_flat_mm, radius_mm, ways_um (forward
    minus backward). gap_x_mm: [frets, lanes]; board_mm, u_board_mm: board in the gap before each
    fret. height_mm, u_height_mm: fret over board. terms: what u_top_mm is made of. apex_x_mm:
    [frets, lanes], where the crowns really stand, on the neck as x_mm is. misfit: [frets, lanes],
    reduced chi-square of the crown's shape, of the worst pass. rail: how the map it was read with
    errs along it; None without one.
    """

    string: FloatArray
    x_mm: FloatArray
    y_mm: FloatArray
    top_mm: FloatArray
    u_top_mm: FloatArray
    u_rail_mm: FloatArray
    flat_mm: FloatArray
    u_flat_mm: FloatArray
    radius_mm: FloatArray
    ways_um: FloatArray
    gap_x_mm: FloatArray
    board_mm: FloatArray
    u_board_mm: FloatArray
    height_mm: FloatArray
    u_height_mm: FloatArray
    arc: Arc
    registration: Registration
    terms: Terms
    apex_x_mm: FloatArray
    misfit: FloatArray
    rail: RailAlong | None = None


def read_neck(
    profiles: Sequence[Profile],
    instrument: Instrument,
    tip: Tip,
    registration: Registration | None = None,
) -> Neck:
    """Fits every crown both ways, reads the board, undoes the tip.

    registration: of these profiles; they are registered where it is None. Raises NeckError where
    the scan and the instrument do not belong together.
    """
    if registration is None:
        registration = register(profiles, instrument)
    frets = np.arange(1, instrument.frets + 1, dtype=float)
    strings = np.unique([p.string for p in profiles])
    fret_x = instrument.fret_x_mm(frets[:, None], strings[None, :])
    passes = [int(np.searchsorted(strings, p.string)) for p in profiles]
    centres = [registration.carriage_mm(fret_x[:, lane], strings[lane]) for lane in passes]
    group = np.concatenate([lane * frets.size + np.arange(frets.size) for lane in passes])
    fret = np.tile(np.arange(frets.size), len(profiles))
    by_pass = Passes(profiles, passes, strings.size, frets.size)
    board = by_pass.board(read_board(profiles, np.stack(centres), tip.ball_mm))
    chord = chord_slope(registration.carriage_mm(fret_x, strings), board.under_mm)
    lean = lean_of(board.slope, chord)
    windows = gather(profiles, centres)
    of_pass = lean.T[passes].ravel()
    crowns = fit_crowns(
        windows.upright(of_pass),
        tip.ball_mm,
        list(group),
        list(fret),
        list(np.repeat(strings[passes], frets.size)),
        tip.spot_mm,
    )
    crowns = replace(crowns, z_mm=crowns.z_mm + of_pass * (crowns.x_mm - windows.start_x_mm))
    _check_seen(crowns, profiles, registration.covered[:, passes].T.ravel())
    gap_x = gap_middles_mm(fret_x)
    gap_y = by_pass.y_at(registration.carriage_mm(gap_x, strings))
    made = instrument.board_made_mm(np.array([0.0, np.nanmax(gap_x)]))
    arc = fit_arc(gap_x, gap_y, board.z_mm, tip.ball_mm, joint_mm(instrument), made)
    return _assemble(
        by_pass, crowns, registration, arc, tip, strings, fret_x, gap_x, board, lean - chord
    )


def _check_seen(crowns: Crowns, profiles: Sequence[Profile], covered: NDArray[np.bool_]) -> None:
    """covered: bool[windows], whether the scan went there."""
    seen = np.isfinite(crowns.z_mm) & covered
    if np.count_nonzero(seen) < 0.5 * np.count_nonzero(covered):
        spacing = max(float(np.median(np.diff(p.x_mm))) for p in profiles)
        raise NeckError(
            f"too few readings under the crowns: samples lie {spacing:.2f} mm apart, "
            "a crown needs them every 0.2 mm or closer; scan slower or at a higher rate"
        )


def _lift_across(slope: FloatArray, climb: Climb, tip: Tip) -> tuple[FloatArray, FloatArray]:
    """What the reading is too high by for the board's slope across, and its u, mm."""
    ball = ball_on_slope_mm(slope, tip.ball_mm)
    return climb.share * ball, climb.u_share * ball


def _assemble(
    by_pass: Passes,
    crowns: Crowns,
    registration: Registration,
    arc: Arc,
    tip: Tip,
    strings: FloatArray,
    fret_x: FloatArray,
    gap_x: FloatArray,
    board: Board,
    lean: FloatArray,
) -> Neck:
    shape = (len(by_pass.profiles), by_pass.frets)
    z, u, u_shape, flat, radius = (
        a.reshape(shape)
        for a in (
            crowns.z_mm,
            crowns.u_noise_mm,
            crowns.u_shape_mm,
            crowns.flat_mm,
            crowns.radius_mm,
        )
    )
    u_drift = np.broadcast_to([[p.u_drift_mm] for p in by_pass.profiles], shape)
    u_pass = np.hypot(u, u_drift)
    top, u_passes = by_pass.mean(z, u_pass)
    string = strings[list(by_pass.lane)][:, None]
    carriage = registration.carriage_mm(fret_x, strings)
    y, gap_y = by_pass.y_at(carriage), by_pass.y_at(registration.carriage_mm(gap_x, strings))
    high, u_high = _lift_across(arc.slope(fret_x, y), arc.climb, tip)
    flat, radius = by_pass.mean(flat, np.ones(shape))[0], by_pass.mean(radius, u)[0]
    top = top - high + rise_mm(lean, flat, radius)
    terms = Terms(
        {
            "noise": u_passes * np.sqrt(by_pass.mean((u / u_pass) ** 2, u_pass)[0]),
            "drift": u_passes * np.sqrt(by_pass.mean((u_drift / u_pass) ** 2, u_pass)[0]),
            "crown": np.hypot(by_pass.mean(u_shape, u)[0], 0.5 * U_LEAN * flat),
            # a plane of it would lift all tops alike, and the board with them
            "tip": off_plane(u_high, fret_x, y),
            # the light may lie otherwise in its spot than evenly: a bell of one width spreads
            # half as far again, or less by a quarter, as one says where its edge is
            "spot": 0.5 * taken_off_mm(radius, flat, Eye(0.0, tip.spot_mm)),
        }
    )
    # the tip lies as high on the slope across under a fret as on it
    under = board.under_mm - high
    # where no crown stands, the fit has found the board: that top is not known
    top = np.where(top - under < LOWEST_CROWN_MM, np.nan, top)
    terms = terms.each(lambda part: np.where(np.isnan(top), np.nan, part))
    u_top = terms.u_mm
    u_height = np.hypot(u_top, board.u_under_mm)
    return Neck(
        strings,
        fret_x,
        y,
        top,
        u_top,
        by_pass.u_rail_at(carriage),
        flat,
        by_pass.mean(crowns.u_flat_mm.reshape(shape), np.ones(shape))[0],
        radius,
        1e3 * by_pass.difference(z),
        gap_x,
        board.z_mm - _lift_across(arc.slope(gap_x, gap_y), arc.climb, tip)[0],
        board.u_mm,
        top - under,
        u_height,
        arc,
        registration,
        terms,
        by_pass.mean(registration.neck_mm(crowns.x_mm.reshape(shape), string), u)[0],
        by_pass.worst(crowns.misfit.reshape(shape)),
    )
