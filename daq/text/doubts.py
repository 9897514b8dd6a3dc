"""What is doubtful in what a plan rests on, and what hangs on it, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from analysis.plan.doubts import Hanging, Touch
from daq.reading.doubts import DoubtedFret, DoubtedTop, Doubts
from daq.text.findings import finding_sentences
from daq.text.words import counted, fixed, listed, named

#: So many doubtful tops of one kind are told one by one.
TOLD = 5
#: A touch further off than this is not told, mm.
FAR_MM = 0.1
#: Metal that hangs on a top by less than this, µm for every 10 µm, is not told.
LEAST_SLOPE = 0.05
_WHY = {
    "inferred": "no lane ran under the string, wear there was not seen",
    "unsure": "poorly known",
    "scans disagree": "repeated scans disagree, the lower one is taken; a third scan would tell",
    "not seen": "not seen: no margin hangs on it, and a cut there follows its neighbours",
}


def doubt_sentences(doubts: Doubts, strings: int) -> list[str]:
    """Frets that do not hold still first, then what the scans say, then single tops."""
    said = _frets(doubts, "loose")
    said += finding_sentences(doubts.findings, strings)
    said += _frets(doubts, *dict.fromkeys(f.why for f in doubts.frets if f.why != "loose"))
    said += [f"{remark[0].upper()}{remark[1:]}." for remark in doubts.remarks]
    narrow = [one for one in doubts.tops if one.suspect.why == "dent"]
    plain = [one for one in doubts.tops if one.suspect.why != "dent"]
    said += [_top(one) for one in plain[:TOLD]]
    if len(plain) > TOLD:
        said.append(f"... and {counted(len(plain) - TOLD, 'more doubtful top')}.")
    return said + _dents(narrow)


def loose_notes(doubts: Doubts) -> dict[int, str]:
    """Fret to what a cut on it must say."""
    return {
        one.fret: "it looks loose: seat it first, scan again, plan again"
        for one in doubts.frets
        if one.why == "loose"
    }


def _frets(doubts: Doubts, *kinds: str) -> list[str]:
    """One for each loose fret; of the others only what the plan takes off them."""
    out = []
    for one in doubts.frets:
        if one.why not in kinds:
            continue
        if one.why == "loose":
            out.append(
                f"Fret {one.fret} looks loose{_seen(doubts, one.fret)}: seat it first and scan "
                f"again, for no height on it holds. {_whole(one)}"
            )
        elif _cuts(one.hanging):
            out.append(f"Fret {one.fret} is in doubt by that. {_whole(one)}")
    return out


def _seen(doubts: Doubts, fret: int) -> str:
    for one in doubts.loose:
        if one.fret == fret:
            size = f"{fixed(one.size_mm, 3)} ± {fixed(2.0 * one.u_mm, 3)} mm"
            return f" ({one.why}, by {size})"
    return ""


def _whole(one: DoubtedFret) -> str:
    cuts = _cuts(one.hanging)
    taken = "The plan takes nothing off it"
    if cuts:
        most = max(hanging.cut_mm for hanging in cuts)
        under = named("string", [hanging.string for hanging in cuts])
        taken = f"The plan takes up to {fixed(most, 3)} mm off it under {under}"
    nearest = min(one.hanging, key=lambda hanging: hanging.higher.by_mm)
    touch = _higher(nearest)
    return f"{taken}{f'; {touch}' if touch else ''}."


def _top(one: DoubtedTop) -> str:
    suspect, hanging = one.suspect, one.hanging
    why = _WHY.get(suspect.why, suspect.why.removeprefix("doubtful: "))
    band = f" ± {fixed(2.0 * hanging.u_mm, 3)} mm" if np.isfinite(hanging.u_mm) else ""
    where = f"Fret {suspect.fret} under string {suspect.string}{band}: {why}"
    parts = [*_cut(hanging), *filter(None, (_higher(hanging), _lower(hanging))), *_metal(hanging)]
    return f"{where}; {'; '.join(parts)}." if parts else f"{where}."


def _cut(hanging: Hanging) -> list[str]:
    if hanging.cut_mm <= 0.0:
        return []
    return [f"the plan takes {fixed(hanging.cut_mm, 3)} mm off there"]


def _higher(hanging: Hanging) -> str:
    """What touches first where the top stands higher than read."""
    touch = hanging.higher
    if not touch.by_mm < FAR_MM:
        return ""
    return f"{_by(touch)} higher than read, {_string(touch)} touches it"


def _lower(hanging: Hanging) -> str:
    touch = hanging.lower
    if not touch.by_mm < FAR_MM:
        return ""
    return f"{_by(touch)} lower, {_string(touch)} touches fret {touch.at}"


def _by(touch: Touch) -> str:
    return f"if it is {fixed(touch.by_mm, 3)} mm"


def _string(touch: Touch) -> str:
    at = "open" if touch.fretted == 0 else f"at {touch.fretted}"
    return f"string {touch.string} {at}"


def _metal(hanging: Hanging) -> list[str]:
    """For every 0.01 mm, as the plan stands."""
    um = 10.0 * hanging.metal
    if not abs(um) >= LEAST_SLOPE * 10.0:
        return []
    way = "more" if um > 0.0 else "less"
    return [f"every 0.01 mm higher is {fixed(abs(um), 0)} µm of metal {way} in all"]


def _cuts(hanging: Iterable[Hanging]) -> list[Hanging]:
    return [one for one in hanging if one.cut_mm > 0.0]


def _dents(tops: Sequence[DoubtedTop]) -> list[str]:
    """All in one: no scan tells them from wide ones."""
    if not tops:
        return []
    by_string: dict[int, list[int]] = {}
    for one in tops:
        by_string.setdefault(one.suspect.string, []).append(one.suspect.fret)
    places = [
        f"{named('fret', frets)} under string {string}"
        for string, frets in sorted(by_string.items())
    ]
    nearest = min(tops, key=lambda one: one.hanging.lower.by_mm).hanging
    return [
        "A dent narrower than the tip is deeper than read, and no lane beside these shows them "
        f"to be wide: {listed(places)}. A string fretted there has little to spare: fret "
        f"{nearest.fret}, {_lower(nearest).removeprefix('if it is ')}. Look at them with a lens; "
        "where one is no wider than its string, dress it out or give that string more room."
    ]
