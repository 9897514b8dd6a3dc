"""What is done otherwise, or known better, in words short enough for a bar's name."""

from __future__ import annotations

from analysis.plan.price import Saving, UncertaintyPrice
from analysis.plan.sensitivity import Step


def step_words(step: Step) -> str:
    """0.1 mm more action; plucked with 0.05 N less; the rod left as it is."""
    way = "more" if step.by > 0.0 else "less"
    return {
        "plan": "the plan",
        "action": f"{abs(step.by):g} mm {way} action, every string",
        "string": f"{abs(step.by):g} mm {way} action on string {step.string} alone",
        "force": f"plucked with {abs(step.by):g} N {way}",
        "profile": f"another player: {step.what}",
        "free": f"the {step.what} changed after all",
        "keep": f"the {step.what} left as it is",
        "rod": f"the rod a quarter turn {'tighter' if step.by > 0.0 else 'looser'}",
        "fret": f"{abs(step.by):g} mm {way} fret height needed",
    }[step.kind]


def saving_words(one: Saving, price: UncertaintyPrice) -> str:
    """the neck scanned once more, unstrung."""
    return {
        "unstrung again": "scanned once more, unstrung",
        "both again": "scanned once more in both states",
        "heights": f"string heights to {one.u_mm:g} mm, not {price.u_height_mm:g}",
        "tension": "the strings' tension known",
        "between": "crowns between the lanes known",
        "rod": "this neck's rod learnt",
        "everything": "everything known exactly",
    }[one.what]
