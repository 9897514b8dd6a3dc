"""What the rail's calibration found, in words."""

from __future__ import annotations

import numpy as np
from rich.console import Console

from calibration.rail.combine import Agreement
from calibration.rail.estimate import RailEstimate
from calibration.rail.surface import RailSurface
from daq.reading.celsius import APART_CELSIUS
from daq.reading.rail_kept import KeptEstimate
from daq.steps.calibrate_rail import RailCalibrated
from daq.text.console import bullets, say
from daq.text.words import listed

#: A map worse than this beside what was seen of it has a blind shape in it.
BLIND_RATIO = 3.0


def print_rail(console: Console, done: RailCalibrated) -> None:
    """The map in a sentence, what it cannot tell, and how its methods agree."""
    first, *others = rail_sentences(done)
    say(console, first, "bold")
    bullets(console, others)


def rail_sentences(done: RailCalibrated) -> list[str]:
    """The map first, then what it cannot tell, and how its methods agree."""
    result = done.result
    by = " by" if len(result.kept) > 1 else ":"
    lines = [f"Not seen{by} {word}." for word in result.line.unseen]
    lines += [_agrees(one) for one in result.agreement]
    lines += [] if result.across is None else [_rolls(result.across)]
    lines += [_made(one) for one in result.kept] if len(result.kept) > 1 else []
    lines += _warmth(result.kept)
    if done.alone is not None:
        lines.append(
            f"This map stands alone: that by {done.alone} is not in it. Measure again with --join "
            "to put them together."
        )
    return [_mapped(result.line), *lines, f"Kept as {done.path}."]


def _mapped(line: RailEstimate) -> str:
    found = line.map()
    seen, known = (2e3 * float(np.median(u)) for u in (line.u_seen_mm, found.u_mm))
    sure = f"known to ± {known:.1f} µm"
    if known > BLIND_RATIO * seen:
        sure = f"known to ± {seen:.1f} µm apart from shapes that it cannot see"
    return (
        f"The rail is mapped from {found.x_mm[0]:.0f} to {found.x_mm[-1]:.0f} mm by "
        f"{line.method}: it is out of straight by {1e3 * float(np.ptp(found.r_mm)):.1f} µm in "
        f"all, {sure}."
    )


def _agrees(one: Agreement) -> str:
    return (
        f"{one.method.capitalize()} against the rest: {one.apart_um:.1f} µm rms apart, as their "
        "uncertainties allow."
    )


def _rolls(across: RailSurface) -> str:
    low, high = across.y_mm
    outer = max(abs(low), abs(high))
    roll = float(np.ptp(across.terms[1]))
    return (
        f"Across, from y = {low:+g} to {high:+g} mm, the rail rolls by {1e3 * roll:.3f} mrad: "
        f"{1e3 * roll * outer:.1f} µm at y = {outer:g} mm."
    )


def _made(one: KeptEstimate) -> str:
    u_um = 2e3 * float(np.median(one.estimate.u_seen_mm))
    warm = "" if one.celsius is None else f" at {one.celsius:.1f} °C"
    return f"In it: {one.estimate.method} of {one.made[:10]}{warm}, ± {u_um:.1f} µm."


def _warmth(kept: tuple[KeptEstimate, ...]) -> list[str]:
    told = [one.celsius for one in kept if one.celsius is not None]
    if not told:
        return ["Its temperature is not known; give --celsius, and a scan at another is warned of."]
    if max(told) - min(told) > APART_CELSIUS:
        names = listed([one.estimate.method for one in kept if one.celsius is not None])
        return [
            f"{names.capitalize()} were measured {max(told) - min(told):.1f} °C apart, and a rail "
            "bends with temperature: measure them again at one."
        ]
    return []
