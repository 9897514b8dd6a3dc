"""What two scans show besides a neck that bent, in words, each with what to do."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.findings.findings import MANY_FRETS, Finding
from daq.text.words import fixed, listed, named


def finding_sentences(findings: Sequence[Finding], strings: int) -> list[str]:
    """One each; what lies over frets, and how the neck lay, are one sentence. strings: of the
    instrument. Sizes with twice their standard uncertainty."""
    out = [*_over("strung", "capo", findings), *_over("unstrung", "covered", findings)]
    for one in findings:
        if one.kind == "loose fret":
            out.append(_loose(one, f"Fret {one.fret}", "it is loose"))
        elif one.kind == "loose end":
            beside = 1 if (one.string or 0.0) < 0.5 * (strings + 1) else strings
            end = f"Fret {one.fret}, at its end by string {beside},"
            out.append(_loose(one, end, "that end is loose"))
        elif one.kind == "one place":
            out.append(_one_place(one))
        elif one.kind == "step":
            out.append(_step(one))
        elif one.kind in ("filed", "unlike"):
            out.append(_many(one))
    return [*out, *_lay(findings)]


def _over(state: str, kind: str, findings: Sequence[Finding]) -> list[str]:
    frets = [one.fret for one in findings if one.kind == kind and one.fret is not None]
    what = "a capo left on?" if kind == "capo" else "a cloth, a tool?"
    if not frets:
        return []
    return [
        f"Something lies over {named('fret', frets)} in the {state} scan ({what}): take it off "
        f"and scan {state} again before cutting."
    ]


def _loose(one: Finding, what: str, verdict: str) -> str:
    return (
        f"{what} stands {_size(one)} {_way(one)} strung than unstrung, against the rest of the "
        f"neck: {verdict}. Seat it, or glue it, and scan again before cutting: a file takes "
        "metal off a fret that only springs up."
    )


def _one_place(one: Finding) -> str:
    where = one.string or 0.0
    at = f"under string {where:g}"
    if where % 1.0:
        at = f"between strings {int(where)} and {int(where) + 1}"
    dirty = "strung" if one.size_mm > 0.0 else "unstrung"
    return (
        f"Fret {one.fret} {at} stands {_size(one)} {_way(one)} strung than unstrung, at this one "
        f"place. No fret springs or wears so between two scans: dirt lay there in the {dirty} "
        f"scan, most likely. Wipe it and scan {dirty} again, or cut nothing by this top."
    )


def _step(one: Finding) -> str:
    before = (one.fret or 1) - 1
    return (
        f"From fret {one.fret} on, all frets stand {_size(one)} {_way(one)} strung than unstrung "
        f"than those up to fret {before}: no neck bends so in one place. Look between the two for "
        "a crack, a loose board or a loose joint, and scan both states again before cutting."
    )


def _many(one: Finding) -> str:
    size = f"by up to {fixed(abs(one.size_mm), 3)} mm"
    if one.kind == "filed":
        first, then = ("strung", "unstrung") if one.size_mm > 0.0 else ("unstrung", "strung")
        return (
            f"More than {MANY_FRETS} frets stand lower in the {then} scan than in the {first} one, "
            f"{size}, and hardly any higher: they were filed in between. Scan {first} again: its "
            "frets are gone."
        )
    return (
        f"More than {MANY_FRETS} frets did not move with the neck, {size}, some up and some down: "
        "the scans do not belong together. Scan both states again before cutting."
    )


def _lay(findings: Sequence[Finding]) -> list[str]:
    parts = [
        words.format(fixed(abs(one.size_mm), 2), up if one.size_mm > 0.0 else down)
        for kind, words, up, down in (
            ("shifted", "{0} mm {1}", "further along the rail", "back along the rail"),
            ("raised", "{0} mm {1}", "higher", "lower"),
            ("tilted", "its body joint {0} mm {1} against fret 1", "up", "down"),
            ("turned", "string 1's edge {0} mm {1} against the other", "up", "down"),
        )
        for one in findings
        if one.kind == kind
    ]
    if not parts:
        return []
    return [
        "In the strung scan the neck lay elsewhere on the rig than in the unstrung one: "
        f"{listed(parts)}. That is allowed for: no height and no relief depends on it."
    ]


def _size(one: Finding) -> str:
    return f"{fixed(abs(one.size_mm), 3)} ± {fixed(2.0 * one.u_mm, 3)} mm"


def _way(one: Finding) -> str:
    return "higher" if one.size_mm > 0.0 else "lower"
