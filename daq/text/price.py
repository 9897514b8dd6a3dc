"""The metal that uncertainty costs, in words."""

from __future__ import annotations

from analysis.plan.price import Saving, UncertaintyPrice
from daq.text.sensitivity import WORTH_MM, metal_words


def price_sentences(price: UncertaintyPrice) -> list[str]:
    """All of it first, then what is worth doing; what saves nothing is said once."""
    if not price.feasible:
        return _possible(price)
    everything = price.of("everything")
    if everything is None or not everything.saves_mm >= WORTH_MM:
        return ["Knowing more would save no metal to speak of: the plan does not hang on it."]
    said = [
        f"All the uncertainty together costs {metal_words(everything.saves_mm)} of "
        f"{metal_words(price.metal_mm)}."
    ]
    worth = [
        one
        for one in price.savings
        if one.what not in ("everything", "both again") and one.saves_mm >= WORTH_MM
    ]
    for one in sorted(worth, key=lambda one: -one.saves_mm):
        said.append(f"{_doing(one, price)} would save {metal_words(one.saves_mm)}.")
    return [*said, *_again(price)]


def _again(price: UncertaintyPrice) -> list[str]:
    """Both states scanned once more, where the unstrung one alone does not say it all."""
    alone, both = price.of("unstrung again"), price.of("both again")
    if alone is None or both is None:
        return []
    if both.saves_mm < WORTH_MM:
        return ["Scanning the neck once more would save next to nothing: its tops are known."]
    if both.saves_mm - alone.saves_mm < WORTH_MM:
        return []
    return [f"{_doing(both, price)} would save {metal_words(both.saves_mm)}."]


def _doing(one: Saving, price: UncertaintyPrice) -> str:
    if one.what == "heights":
        return (
            f"Measuring the string heights to {one.u_mm:g} mm instead of "
            f"{price.u_height_mm:g}, with a dial gauge or feelers,"
        )
    return {
        "unstrung again": "Scanning the unstrung neck once more",
        "both again": "Scanning the neck once more in both states",
        "tension": "Knowing the strings' tension, from their maker or by weighing them,",
        "between": "Knowing the crowns between the lanes, which only bent strings meet,",
        "rod": "Learning this neck's rod, by two scans at two settings,",
        "everything": "Knowing everything exactly",
    }[one.what]


def _possible(price: UncertaintyPrice) -> list[str]:
    """No plan: whether it is the neck or the measuring."""
    cured = [one for one in price.savings if one.feasible and one.what != "everything"]
    said = [f"{_doing(one, price)} would make a plan possible." for one in cured]
    everything = price.of("everything")
    if everything is not None and not everything.feasible:
        return ["No measuring cures it: with everything known exactly there is no plan either."]
    return said or ["All known exactly there would be a plan; no single thing does it."]
