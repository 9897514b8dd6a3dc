"""Several necks laid over one another, as one: what averages, and what all of them share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from analysis.board.arc import Arc
from analysis.instrument import FloatArray
from analysis.neck.neck import Neck
from analysis.neck.terms import Terms
from analysis.repeats.judged import Judged
from analysis.repeats.laid import Laid
from analysis.repeats.places import Places
from analysis.repeats.weights import Weights

#: What each scan draws anew, besides the part of `crown` that it is seen to.
ANEW = ("noise", "drift")
#: The latest scan's own, or made anew below.
NOT_AVERAGED = ("x_mm", "y_mm", "gap_x_mm", "top_mm", "board_mm")


def averaged(
    necks: Sequence[Neck], tops: Judged, board: Judged, laid: Laid, places: Places
) -> Neck:
    """The necks as one in the last one's frame; tops and board as judged, [scans, ...]."""
    lift_top, lift_board = places.split(laid.lift_mm(places))
    clamping, _ = places.split(laid.clamping_mm(places))
    by_top, top = tops.mean()
    by_board, board_z = board.mean()
    neck = _fields(necks, by_top, by_board)
    terms = _terms(necks, tops, by_top).also(clamping=clamping, scans=tops.spread_mm)
    u_top, u_board = terms.u_mm, _u_board(necks, board, by_board)
    own = np.array([one.u_height_mm**2 - one.u_top_mm**2 - one.u_board_mm**2 for one in necks])
    return replace(
        neck,
        top_mm=top + lift_top,
        u_top_mm=u_top,
        terms=terms,
        board_mm=board_z + lift_board,
        u_board_mm=u_board,
        u_height_mm=np.sqrt(u_top**2 + u_board**2 + by_top.mean(np.clip(own, 0.0, None))),
        arc=_arc([one.arc for one in necks], laid, places),
    )


def _terms(necks: Sequence[Neck], tops: Judged, weights: Weights) -> Terms:
    """Noise and drift, and the share of `crown` that is drawn anew, over sqrt(n_eff).

    What scans scatter beyond all that is stated is `repeat`.
    """
    names = dict.fromkeys(name for one in necks for name in one.terms.parts)
    nothing = np.zeros_like(necks[-1].top_mm)
    each = {name: np.array([one.terms.parts.get(name, nothing) for one in necks]) for name in names}
    anew = np.sqrt(sum(each[name] ** 2 for name in ANEW if name in each))
    crown = each.get("crown", np.zeros_like(tops.u_mm))
    share = tops.anew_share(anew, crown)
    falls = {**dict.fromkeys(ANEW, 1.0), "crown": min(share, 1.0)}
    parts = {name: weights.left(u, falls.get(name, 0.0)) for name, u in each.items()}
    more = np.sqrt(max(share - 1.0, 0.0)) * weights.independent(crown)
    return Terms(parts).also(repeat=more)


def _u_board(necks: Sequence[Neck], board: Judged, weights: Weights) -> FloatArray:
    """The share that scans are seen to draw anew falls with their number."""
    each = np.array([one.u_board_mm for one in necks])
    share = board.anew_share(np.zeros_like(each), each)
    more = np.sqrt(max(share - 1.0, 0.0)) * weights.independent(each)
    return np.asarray(
        np.sqrt(weights.left(each, min(share, 1.0)) ** 2 + more**2 + board.spread_mm**2)
    )


def _fields(necks: Sequence[Neck], tops: Weights, board: Weights) -> Neck:
    """Whatever else is [frets, lanes] of numbers, averaged; an uncertainty is taken for shared.

    What has `board` in its name goes by the board's weights; all that is no such array is the
    last neck's.
    """
    last = necks[-1]
    changed: dict[str, Any] = {}
    for one in fields(last):
        value = getattr(last, one.name)
        if one.name in NOT_AVERAGED or not _is_map(value, last.top_mm.shape):
            continue
        each = np.array([getattr(neck, one.name) for neck in necks])
        by = board if "board" in one.name else tops
        changed[one.name] = by.shared(each) if one.name.startswith("u_") else by.mean(each)
    return replace(last, **changed)


def _is_map(value: object, shape: tuple[int, ...]) -> bool:
    return (
        isinstance(value, np.ndarray)
        and value.shape == shape
        and np.issubdtype(value.dtype, np.floating)
    )


def _arc(arcs: Sequence[Arc], laid: Laid, places: Places) -> Arc:
    """Mean curvature and roll, in the last one's frame.

    What makes a roll uncertain is the board's own unevenness, which all scans share; how far
    the rolls scatter, a clamp's twist, comes on top.
    """
    roll = arcs[-1].roll
    level = [
        arc.roll.at(roll.x_mm) - turn
        for arc, turn in zip(arcs, laid.lies @ places.turns, strict=True)
    ]
    return replace(
        arcs[-1],
        nut_radius_mm=1.0 / float(np.mean([1.0 / arc.nut_radius_mm for arc in arcs])),
        last_radius_mm=1.0 / float(np.mean([1.0 / arc.last_radius_mm for arc in arcs])),
        roll=replace(
            roll,
            value=np.mean(level, axis=0) + float(laid.lies[-1] @ places.turns),
            covariance=roll.covariance + np.cov(level, rowvar=False) / len(arcs),
        ),
    )
