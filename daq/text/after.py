"""How the neck stands after the cut, the strung neck at the end, and what to do now, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from rich.console import Console

from analysis.after.standing import Standing
from analysis.after.strung import StringRelief, StrungCheck
from analysis.after.verify import Cut, Left, worth_a_pass
from daq.documents.strung import LEAST_RELIEF_MM
from daq.text.console import bullets, heading, say
from daq.text.grid import plain_table
from daq.text.margins import position
from daq.text.words import fixed, listed, named, signed
from daq.workshop.job import shown

#: So many places are told one by one.
TOLD = 6


def print_after(console: Console, standing: Standing, left: Sequence[Left]) -> None:
    """The margins as the filed neck will stand, and what still has to come off."""
    say(console, standing_sentence(standing))
    if worth_a_pass(standing, left):
        print_left(console, left)


def print_left(console: Console, left: Sequence[Left]) -> None:
    """What still has to come off, and what to mean to take."""
    if not left:
        return
    heading(console, "Still to come off, for every margin to clear as planned, µm")
    table = plain_table(["fret", "string", "left", "±", "aim at"])
    for one in left:
        numbers = (one.left_um, 2.0 * one.u_left_um, one.aim_um)
        table.add_row(str(one.fret), str(one.string), *(fixed(n, 1) for n in numbers))
    console.print(table)
    if any(one.aim_um <= 0 for one in left):
        say(console, "Aim 0: the hand scatters by as much as is left there; leave it.")


def standing_sentence(standing: Standing) -> str:
    """How many margins clear, and how surely."""
    places = len(standing.clearances)
    if not standing.near and not standing.short:
        return f"All {places} margins are clear, with the guard of the plan."
    clear = places - len(standing.near) - len(standing.short)
    said = [f"Of {places} margins {clear} are clear with the guard of the plan"]
    if standing.near:
        said.append(f"{len(standing.near)} clear in at least 95 of 100 cases")
    if standing.short:
        said.append(f"{len(standing.short)} less surely ({_where(standing)})")
    return f"{listed(said)}."


def _where(standing: Standing) -> str:
    worst = sorted(standing.short, key=lambda c: (c.clearance_mm - c.swing_mm) / c.u_mm)
    told = [f"{position(c).lower()} over fret {c.worst_at}" for c in worst[:TOLD]]
    more = len(worst) - len(told)
    return "; ".join(told) + (f"; {more} more" if more > 0 else "")


def after_words(
    cuts: Sequence[Cut], standing: Standing, left: Sequence[Left], job: str, finished: bool | None
) -> str:
    """What to do now. finished: of the strung neck at the end; None while it was not scanned."""
    name = shown(job)
    if finished is not None:
        return _at_the_end(finished, name)
    if standing.done or (standing.can and not worth_a_pass(standing, left)):
        return (
            f"{_how(cuts, standing)} String up, set rod, nut and saddles as planned, tune and let "
            f"the neck settle: neckform scan {name} --rig RIG.yaml --state strung, then: "
            f"neckform verify {name}"
        )
    if not standing.can and not standing.done:
        return (
            f"{_over(cuts)}Metal alone no longer meets every margin with the screws as planned. "
            "Take no more off: string up, then: "
            f"neckform scan {name} --rig RIG.yaml --state strung, then: neckform plan {name}"
        )
    frets = named("fret", [one.fret for one in left])
    most = max((one.left_um for one in left), default=0.0)
    return (
        f"{_over(cuts)}Metal is left at {frets}, {fixed(most, 1)} µm at most: one more light pass "
        f"there, then: neckform scan {name} --rig RIG.yaml --state unstrung, then: "
        f"neckform verify {name}"
    )


def _how(cuts: Sequence[Cut], standing: Standing) -> str:
    if not standing.done:
        return (
            f"{_over(cuts)}What is left is less than a hand can be sure to take: leave it, and "
            f"listen at {_where(standing)}."
        )
    verdicts = {cut.verdict for cut in cuts}
    if "over" in verdicts:
        return f"{_over(cuts)}Every margin is clear enough all the same."
    if "under" in verdicts:
        return "Less came off than planned, and every margin is clear enough all the same."
    return "Enough came off."


def _over(cuts: Sequence[Cut]) -> str:
    over = sorted({cut.fret for cut in cuts if cut.verdict == "over"})
    return f"More came off than planned at {named('fret', over)}. " if over else ""


def _at_the_end(finished: bool, name: str) -> str:
    if finished:
        return "Finished: every margin is clear enough on the strung neck."
    return (
        "Not finished: margins on the strung neck are short. Measure the string heights over "
        f"frets 1 and 12 into the job's instrument.yaml, then: neckform plan {name}"
    )


def print_strung(console: Console, check: StrungCheck, standing: Standing, heights: str) -> None:
    """Relief predicted and measured, the rod, the shape, the margins."""
    heading(console, "The strung neck against what was predicted: relief, mm")
    table = plain_table(["string", "predicted", "±", "measured", "±", "off", "±", ""])
    for one in check.relief:
        table.add_row(*relief_cells(one))
    console.print(table)
    bullets(console, strung_sentences(check))
    say(console, standing_sentence(standing))
    say(console, heights_sentence(heights), "dim")


def relief_cells(one: StringRelief) -> list[str]:
    """String, predicted, ±, measured, ±, off, ±, verdict."""
    pairs = (
        (one.predicted_mm, one.u_predicted_mm),
        (one.measured_mm, one.u_measured_mm),
        (one.off_mm, one.u_off_mm),
    )
    numbers = [fixed(v, 3) for value, u in pairs for v in (value, 2.0 * u)]
    return [str(one.string), *numbers, one.verdict]


def strung_sentences(check: StrungCheck) -> list[str]:
    """What the rod did, how near the tops lie to the prediction, which do not."""
    more, u_more = check.more_mm, check.u_more_mm
    meant = check.planned_relief_mm
    if abs(more) <= 2.0 * u_more:
        bent = "The neck is bent as was meant"
    else:
        bent = f"The neck has {'more' if more > 0 else 'less'} relief than was meant"
    said = [f"{bent}: {signed(more, 3)} ± {fixed(2.0 * u_more, 3)} mm by the mean of the strings."]
    if abs(meant) >= LEAST_RELIEF_MM:
        gain, u_gain = 1.0 + more / meant, u_more / abs(meant)
        said.append(
            f"The rod was to change relief by {signed(meant, 3)} mm; if all of that is its own, "
            f"it did {fixed(gain, 2)} ± {fixed(2.0 * u_gain, 2)} of it."
        )
    said.append(
        f"Bending aside, tops lie {fixed(check.rms_um, 1)} µm from what was predicted, where "
        f"{fixed(check.expected_rms_um, 1)} µm are to be expected (root mean squares)."
    )
    odd = sorted({int(fret) + 1 for fret in np.flatnonzero(check.odd.any(axis=1))})
    if odd:
        said.append(
            f"{named('Fret', odd)}: no bending explains it; look for a fret that is loose, or "
            "was filed without a plan."
        )
    return said


def heights_sentence(heights: str) -> str:
    """Where the string heights come from."""
    if heights == "measured":
        return "String heights are the new ones of the job's instrument.yaml."
    return (
        "String heights are taken to be those the plan had the saddles set to, nut slots as "
        "planned: measure them over frets 1 and 12, write them into the job's instrument.yaml "
        "and verify again to be sure."
    )
