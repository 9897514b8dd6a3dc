"""What several passes over one lane say, taken together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.board.board import Board
from analysis.instrument import FloatArray
from calibration.profile import Profile


@dataclass(frozen=True, slots=True)
class Passes:
    """Combines what passes over the same lane say. lane: of each pass, counted from 0."""

    profiles: Sequence[Profile]
    lane: Sequence[int]
    lanes: int
    frets: int

    def mean(self, values: FloatArray, u: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Weighted mean over the passes of each lane: [passes, frets] to [frets, lanes]."""
        weight = np.where(np.isfinite(values), 1.0 / np.maximum(u, 1e-6) ** 2, 0.0)
        total, summed = np.zeros((2, self.lanes, self.frets))
        np.add.at(total, np.asarray(self.lane), weight)
        np.add.at(summed, np.asarray(self.lane), weight * np.nan_to_num(values))
        with np.errstate(invalid="ignore", divide="ignore"):
            seen = total > 0
            mean = np.where(seen, summed / total, np.nan)
            spread = np.where(seen, np.sqrt(1.0 / total), np.nan)
        return mean.T, spread.T

    def board(self, board: Board) -> Board:
        """The board of each lane, [frets, lanes]. Grain is the same for all passes over it: u
        is one pass's."""

        def of(values: FloatArray, u: FloatArray) -> tuple[FloatArray, FloatArray]:
            return self.mean(values, u)[0], self.mean(u, np.ones_like(u))[0]

        slope = self.mean(board.slope, np.ones_like(board.slope))[0]
        return Board(*of(board.z_mm, board.u_mm), *of(board.under_mm, board.u_under_mm), slope)

    def difference(self, values: FloatArray) -> FloatArray:
        """First forward less first backward pass of each lane, [frets, lanes]."""
        out = np.full((self.lanes, self.frets), np.nan)
        for i in range(self.lanes):
            mine = [k for k, lane in enumerate(self.lane) if lane == i]
            ahead = [k for k in mine if self.profiles[k].direction > 0]
            back = [k for k in mine if self.profiles[k].direction < 0]
            if ahead and back:
                out[i] = values[ahead[0]] - values[back[0]]
        return out.T

    def worst(self, values: FloatArray) -> FloatArray:
        """The largest over the passes of each lane: [passes, frets] to [frets, lanes]."""
        out = np.full((self.lanes, self.frets), np.nan)
        for lane, mine in zip(self.lane, values, strict=True):
            out[lane] = np.fmax(out[lane], mine)
        return out.T

    def y_at(self, carriage_mm: FloatArray) -> FloatArray:
        """Cross position of each lane where its frets are, [frets, lanes]."""
        out = np.empty_like(carriage_mm)
        for profile, lane in zip(self.profiles, self.lane, strict=True):
            out[:, lane] = np.interp(carriage_mm[:, lane], profile.x_mm, profile.y_mm)
        return out

    def u_rail_at(self, carriage_mm: FloatArray) -> FloatArray:
        out = np.empty_like(carriage_mm)
        for profile, lane in zip(self.profiles, self.lane, strict=True):
            out[:, lane] = np.interp(carriage_mm[:, lane], profile.x_mm, profile.u_rail_mm)
        return out
