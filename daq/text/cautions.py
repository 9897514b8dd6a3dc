"""Cautions, said where they matter. Local rules and trained practice go before all of them."""

from __future__ import annotations

DEFER = "Local safety rules and the practice you were trained in come first."


def caution_before_motion() -> str:
    """Before the carriage moves."""
    return (
        "The carriage is about to move: keep fingers, sleeves and cables clear of it and be ready "
        "to stop it. With a laser sensor, mind its class and never look into the beam. "
        f"{DEFER}"
    )


def caution_strings() -> str:
    """Before strings are slackened, cut or tuned up, and before the rod is turned."""
    return (
        "Strings are under tension: protect your eyes, slacken them before you cut them. "
        f"{caution_rod()}"
    )


def caution_rod() -> str:
    """Before the rod is turned, and where it is said to have been."""
    return (
        "Turn a truss rod a quarter turn at most at a time and let it settle; if it resists, "
        f"stop. {DEFER}"
    )


def caution_before_cut() -> str:
    """Before metal comes off."""
    return (
        "A cut cannot be undone. This program advises; a trained person decides. Keep metal dust "
        "out of eyes, lungs and pickups. On an old instrument look first at lacquer and inlays: "
        f"some must not be scraped. {DEFER}"
    )


def caution_prop() -> str:
    """Before a neck is propped."""
    return (
        "A prop bends the neck: pad it, hold the body firmly, watch the dial gauge and stop at "
        "the height said, or at once where something creaks, slips or resists. Never leave a "
        f"neck propped. {DEFER}"
    )
