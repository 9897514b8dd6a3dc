"""Which scans one neck was made of, and what was off in them, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich.console import Console

from daq.reading.repeats import Repeats, TopOff
from daq.text.console import bullets, say
from daq.text.words import counted, fixed, listed

#: Clamping that leaves a top more uncertain than this is worth a word, mm: as much as all else
#: does on a fair rig (own choice).
WORD_MM = 0.001
#: A fret with more places off than this is told by their number.
MOST_PLACES = 4


def print_repeats(console: Console, repeats: Mapping[str, Repeats]) -> None:
    """What was combined for each state, or each time; nothing where it is single scans."""
    for what, one in repeats.items():
        if combined_line(one):
            say(console, f"{what}: {combined_line(one)}")
        bullets(console, repeat_sentences(one))


def combined_line(repeats: Repeats) -> str:
    """3 scans combined: 004, 005 and 006. Empty for one scan."""
    if len(repeats.used) < 2:
        return ""
    used = counted(len(repeats.used), "scan")
    return f"{used} combined: {listed([_number(path) for path in repeats.used])}."


def repeat_sentences(repeats: Repeats) -> list[str]:
    """Scans left out and why, tops that are off in one of them, a sentence for a fret, and
    clamping where it bends the neck."""
    out = [f"Scan {_number(one.path)} is left out: {one.why}." for one in repeats.left_out]
    for (fret, scans), tops in _by_fret(repeats.off).items():
        out.append(_off(fret, scans, tops) if scans else _unsure(fret, tops))
    if repeats.u_clamping_mm > WORD_MM:
        out.append(
            "Clamping bends the neck, another way each time: after "
            f"{counted(len(repeats.used), 'scan')} its shape is known to "
            f"± {fixed(2e3 * repeats.u_clamping_mm, 0)} µm for that alone, which a single scan "
            "does not show. Clamp it without force where the rig holds it; more scans, clamped "
            "anew, bring the mean nearer."
        )
    return out


def _number(path: Path) -> str:
    return path.stem.partition("-")[0]


def _by_fret(off: Sequence[TopOff]) -> dict[tuple[int, tuple[str, ...]], list[TopOff]]:
    """Tops off, one for each place, by fret and by the scans that are off there."""
    places: dict[tuple[int, float], list[TopOff]] = {}
    for one in off:
        places.setdefault((one.fret, one.string), []).append(one)
    out: dict[tuple[int, tuple[str, ...]], list[TopOff]] = {}
    for (fret, _), tops in places.items():
        scans = tuple(_number(one.path) for one in tops if one.path is not None)
        out.setdefault((fret, scans), []).append(tops[0])
    return out


def _off(fret: int, scans: tuple[str, ...], tops: Sequence[TopOff]) -> str:
    higher = all(one.off_mm > 0.0 for one in tops)
    if len(scans) > 1 and higher:
        why = "since then it is lower: dirt was wiped off, or metal came off; it is taken as it is"
    elif higher:
        why = "dirt, most likely, or a loose fret; that scan does not count there"
    else:
        why = "a misread top, or a loose fret; that scan does not count there"
    way = "higher" if higher else "lower" if all(one.off_mm < 0.0 for one in tops) else "off"
    scan = f"In {'scan' if len(scans) == 1 else 'scans'} {listed(scans)}"
    return (
        f"{scan} fret {fret} {_places(tops)} stood {_size(tops)} {way} than in the others: {why}."
    )


def _unsure(fret: int, tops: Sequence[TopOff]) -> str:
    return (
        f"The scans disagree about fret {fret} {_places(tops)} by {_size(tops)}, and which is "
        "right cannot be told: the lower one is taken, for dirt lifts a tip, and its uncertainty "
        "is wider by half of that; a third scan would tell."
    )


def _places(tops: Sequence[TopOff]) -> str:
    """under string 3; under strings 1, 2 and 3; between strings 2 and 3; at 7 places."""
    strings = sorted({one.string for one in tops})
    if len(strings) > MOST_PLACES:
        return f"at {len(strings)} places"
    under = [f"{s:g}" for s in strings if s % 1.0 == 0.0]
    between = [f"between strings {int(s)} and {int(s) + 1}" for s in strings if s % 1.0]
    words = [f"under string{'s' if len(under) > 1 else ''} {listed(under)}"] if under else []
    return listed([*words, *between])


def _size(tops: Sequence[TopOff]) -> str:
    """By the furthest, with twice its standard uncertainty."""
    one = max(tops, key=lambda top: abs(top.off_mm))
    most = "up to " if len(tops) > 1 else ""
    return f"{most}{fixed(1e3 * abs(one.off_mm), 0)} ± {fixed(2e3 * one.u_mm, 0)} µm"
