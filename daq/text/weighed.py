"""A plan weighed, in words: uncertainty, steps, life."""

from __future__ import annotations

from rich.console import Console

from analysis.plan.weighed import Weighed
from daq.text.console import bullets, heading
from daq.text.life import life_sentences
from daq.text.price import price_sentences
from daq.text.sensitivity import sensitivity_sentences


def weighed_sections(weighed: Weighed, feasible: bool) -> list[tuple[str, list[str]]]:
    """(title, sentences). What frets have left says nothing where nothing can be planned."""
    sections = [
        ("What uncertainty costs", price_sentences(weighed.price)),
        ("What each step buys in metal", sensitivity_sentences(weighed.sensitivity)),
    ]
    if feasible:
        sections.append(("How many more such dressings", life_sentences(weighed.life)))
    return [(title, said) for title, said in sections if said]


def print_weighed(console: Console, weighed: Weighed, feasible: bool, details: bool) -> None:
    """Each section under its title; without details the first sentence of each, under one."""
    sections = weighed_sections(weighed, feasible)
    if not details:
        heading(console, "What it hangs on")
        bullets(console, [said[0] for _, said in sections])
        return
    for title, said in sections:
        heading(console, title)
        bullets(console, said)
