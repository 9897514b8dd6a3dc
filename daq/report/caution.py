"""Cautions in a box, with what they share said once."""

from __future__ import annotations

from daq.figures.html import Html, tag
from daq.text.cautions import DEFER


def caution_box(*cautions: str) -> Html:
    """Each ends with whose rules come first: that stands once, under them all."""
    said = [one.removesuffix(DEFER).rstrip() for one in cautions]
    return tag("div", *(tag("p", one) for one in [*said, DEFER]), class_="caution")
