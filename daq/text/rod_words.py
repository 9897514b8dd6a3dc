"""Where the truss rod stands and what it gave, a line each, wherever that matters."""

from __future__ import annotations

from analysis.rod.rod import Rod
from daq.reading.rod import RodPart, SincePlan
from daq.reading.settings import RodSetting
from daq.text.words import fixed, signed, turn_words


def setting_words(turns: float) -> str:
    """Where the rod stands: 0.25 turn tighter than when the job was opened."""
    if abs(turns) < 0.005:
        return "as it was when the job was opened"
    way = "tighter" if turns > 0 else "looser"
    unit = "turn" if abs(turns) <= 1 else "turns"
    return f"{fixed(abs(turns), 2)} {unit} {way} than when the job was opened"


def setting_sentence(setting: RodSetting) -> str:
    """The setting a scan is taken to have, and why."""
    said = f"The rod stands {setting_words(setting.turns)}"
    if setting.taken_from is None:
        return f"{said}."
    return (
        f"{said}, as in {setting.taken_from.name}: nothing else was said. If it has been turned "
        "since, move this scan away and scan again with --rod TURNS."
    )


def by_what(rod: Rod) -> str:
    """What a turn is counted by, at the end of a sentence."""
    return "by what this rod did" if rod.learnt else "by the default effect of a rod"


def per_turn_words(rod: Rod) -> str:
    """0.222 ± 0.030 mm of relief."""
    return f"{fixed(rod.mm_per_turn, 3)} ± {fixed(2.0 * rod.u_mm_per_turn, 3)} mm of relief"


def rod_part_sentence(strung: str, unstrung: str, part: RodPart) -> str:
    """One line: two scans are compared that were made at two settings of the rod."""
    by = "as it was learnt" if part.learnt else "by the default effect of a rod"
    return (
        f"{strung} and {unstrung}: the rod stood {fixed(abs(part.turns), 2)} turn "
        f"{'tighter' if part.turns > 0 else 'looser'} in the first; of what is said of the "
        f"strings, {signed(part.relief_change_mm, 3)} ± "
        f"{fixed(2.0 * part.u_relief_change_mm, 3)} mm of relief is the rod's ({by}): scan "
        "both states at one setting, one after the other, to tell them apart"
    )


def since_plan_sentence(since: SincePlan) -> str:
    """What the rod gave since the plan before, and what was expected."""
    way = "tightened" if since.turns > 0 else "loosened"
    return (
        f"Since plan {since.plan.removesuffix('.json')} the rod was {way} by "
        f"{turn_words(since.turns)}: it gave "
        f"{signed(since.relief_change_mm, 3)} ± {fixed(2.0 * since.u_relief_change_mm, 3)} mm of "
        f"relief; {signed(since.expected_mm, 3)} ± {fixed(2.0 * since.u_expected_mm, 3)} mm was "
        "expected."
    )
