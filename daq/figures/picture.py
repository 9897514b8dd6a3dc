"""One picture with what is said about it."""

from __future__ import annotations

from dataclasses import dataclass

from daq.figures.html import Html


@dataclass(frozen=True, slots=True)
class Picture:
    """title: its name. words: how to read it. svg: the drawing, to be put in place as it is."""

    title: str
    words: str
    svg: Html
