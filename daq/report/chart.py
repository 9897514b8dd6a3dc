"""One panel of curves with bars over an axis in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.instrument import FloatArray
from daq.report.html import Html, tag

_WIDTH, _HEIGHT = 900.0, 170.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 74.0, 12.0, 20.0, 36.0

Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Curve:
    """Points with bars; NaN is a gap. kind: the style class, strung or unstrung."""

    kind: str
    x: FloatArray
    y: FloatArray
    bar: FloatArray


def panel(
    title: str, curves: Sequence[Curve], reach: tuple[float, float], x_unit: str, y_unit: str
) -> Html:
    """Curves over the straight line at zero. reach: lowest and highest y."""
    pad = 0.06 * (reach[1] - reach[0]) or 1.0
    low, high = reach[0] - pad, reach[1] + pad
    end = max(float(np.nanmax(curve.x)) for curve in curves) * 1.02
    across = _scale(0.0, end, _LEFT, _WIDTH - _RIGHT)
    up = _scale(low, high, _HEIGHT - _BOTTOM, _TOP)
    drawn = [
        tag("title", title),
        tag("text", title, x=_LEFT, y=_TOP - 7.0),
        *_x_axis(end, across, x_unit),
        *_y_axis(low, high, up, y_unit),
        tag("path", d=f"M{_LEFT:.1f} {up(0.0):.1f}H{_WIDTH - _RIGHT:.1f}", class_="axis"),
        *(_curve(curve, across, up) for curve in curves),
    ]
    return tag(
        "svg", *drawn, viewBox=f"0 0 {_WIDTH:.0f} {_HEIGHT:.0f}", role="img", aria_label=title
    )


def ticks(low: float, high: float, about: int) -> list[float]:
    """Round numbers between low and high: about so many, steps of 1, 2 or 5."""
    span = high - low
    if not span > 0:
        return [low]
    rough = span / about
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(next(m for m in (1, 2, 5, 10) if m * power >= rough) * power)
    first = int(np.ceil(low / step - 1e-9))
    return [n * step for n in range(first, int(np.floor(high / step + 1e-9)) + 1)]


def _scale(low: float, high: float, start: float, stop: float) -> Scale:
    return lambda value: start + (value - low) / (high - low) * (stop - start)


def _x_axis(end: float, across: Scale, unit: str) -> list[Html]:
    base = _HEIGHT - _BOTTOM
    parts = [tag("path", d=f"M{_LEFT:.1f} {base:.1f}H{_WIDTH - _RIGHT:.1f}", class_="hair")]
    for value in ticks(0.0, end, 10):
        x = across(value)
        parts.append(tag("path", d=f"M{x:.1f} {base:.1f}v4", class_="axis"))
        parts.append(tag("text", f"{value:g}", x=x, y=base + 15.0, text_anchor="middle"))
    middle = 0.5 * (_LEFT + _WIDTH)
    parts.append(tag("text", unit, x=middle, y=base + 31.0, text_anchor="middle", class_="soft"))
    return parts


def _y_axis(low: float, high: float, up: Scale, unit: str) -> list[Html]:
    parts = [tag("text", unit, x=14.0, y=0.5 * (_TOP + _HEIGHT - _BOTTOM) + 4.0, class_="soft")]
    for value in ticks(low, high, 6):
        y = up(value)
        parts.append(tag("path", d=f"M{_LEFT:.1f} {y:.1f}H{_WIDTH - _RIGHT:.1f}", class_="hair"))
        parts.append(tag("text", f"{value:g}", x=_LEFT - 7.0, y=y + 4.0, text_anchor="end"))
    return parts


def _curve(curve: Curve, across: Scale, up: Scale) -> Html:
    known = [
        (across(float(x)), float(y), float(bar))
        for x, y, bar in zip(curve.x, curve.y, np.nan_to_num(curve.bar), strict=True)
        if np.isfinite(y)
    ]
    line = "M" + "L".join(f"{x:.1f} {up(y):.1f}" for x, y, _ in known) if known else ""
    bars = "".join(f"M{x:.1f} {up(y - bar):.1f}V{up(y + bar):.1f}" for x, y, bar in known)
    dots = (tag("circle", cx=x, cy=up(y), r=2.6, class_=f"dot-{curve.kind}") for x, y, _ in known)
    return tag(
        "g",
        tag("path", d=line, class_=curve.kind),
        tag("path", d=bars, class_=f"bar-{curve.kind}"),
        *dots,
    )
