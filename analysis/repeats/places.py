"""Where the heights of several scans are compared: tops and board points of the latest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.instrument import FloatArray
from analysis.neck.neck import Neck
from analysis.neck.tops import FURTHEST_LANE_MM
from analysis.repeats.lie import BASIS, basis_rows


class DoesNotFit(ValueError):
    """A scan shows another neck than the latest, or the same one changed."""


@dataclass(frozen=True, slots=True)
class Places:
    """The latest scan's places: tops first, then the board.

    rows: [points, 7], of `basis_rows`; is_board: bool[points]; shape: (frets, lanes).
    bends: [points, 7], the rows less the plane through them at the board's two ends, which is
    the datum's: what a displacement changes of a shape. turns: [7], that plane's slope across.
    """

    rows: FloatArray
    is_board: NDArray[np.bool_]
    shape: tuple[int, ...]
    bends: FloatArray
    turns: FloatArray

    @staticmethod
    def of(neck: Neck, joint: int, joint_mm: float) -> Places:
        """joint: the body-joint fret, joint_mm its place.

        The board's ends are the gaps before frets 1 and 2 and the last two before the joint.
        """
        gap_y = np.stack(
            [
                np.interp(gaps, x, y)
                for gaps, x, y in zip(neck.gap_x_mm.T, neck.x_mm.T, neck.y_mm.T, strict=True)
            ],
            axis=1,
        )
        x = np.concatenate([neck.x_mm, neck.gap_x_mm])
        y = np.concatenate([neck.y_mm, gap_y])
        ends = x.shape[0] // 2 + np.array([0, 1, joint - 2, joint - 1])
        rows = basis_rows(x, y, joint_mm)
        design = np.stack([np.ones_like(x), x, y], axis=-1)
        at_ends = np.linalg.pinv(design[ends].reshape(-1, 3)) @ rows[ends].reshape(-1, BASIS)
        is_board = np.repeat([False, True], neck.x_mm.size)
        bends = (rows - design @ at_ends).reshape(-1, BASIS)
        return Places(rows.reshape(-1, BASIS), is_board, neck.x_mm.shape, bends, at_ends[2])

    def split(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Tops and board of something at all places: [..., points] to [..., frets, lanes]."""
        half = values.shape[-1] // 2
        shape = (*values.shape[:-1], *self.shape)
        return values[..., :half].reshape(shape), values[..., half:].reshape(shape)


def heights(neck: Neck, latest: Neck) -> FloatArray:
    """Tops, then board, [points], moved along the arc across to where the latest's lanes lay.

    A neck put down further along the rail has its lanes' fan a little beside the strings'.
    Raises DoesNotFit where the lanes are others.
    """
    if not np.array_equal(neck.string, latest.string):
        raise DoesNotFit("it has other lanes than the latest scan")
    aside = latest.y_mm - neck.y_mm
    furthest = float(np.max(np.abs(aside)))
    if furthest > FURTHEST_LANE_MM:
        raise DoesNotFit(f"its lanes lie {furthest:.1f} mm beside those of the latest scan")
    middle = 0.5 * (latest.y_mm + neck.y_mm)
    top = neck.top_mm + aside * neck.arc.slope(neck.x_mm, middle)
    board = neck.board_mm + aside * neck.arc.slope(neck.gap_x_mm, middle)
    return np.concatenate([top.ravel(), board.ravel()])


def anew_mm(neck: Neck) -> FloatArray:
    """What tops, then board, of two scans may differ by, as stated; [points]."""
    parts = neck.terms.parts
    random = [parts[name] ** 2 for name in ("noise", "drift", "crown") if name in parts]
    return np.concatenate([np.sqrt(sum(random)).ravel(), neck.u_board_mm.ravel()])
