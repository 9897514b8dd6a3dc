"""One string from the side, for the page: all of it, or from close by where it is held."""

from __future__ import annotations

from analysis.plan.section import Section
from daq.figures.closeup import close_view, close_words
from daq.figures.picture import Picture
from daq.figures.sideview import WORDS, side_view
from daq.text.tight import held_words


def section_picture(
    section: Section, joint: int, *, near: bool = False, frets: tuple[int, int] | None = None
) -> Picture:
    """near: heights from the lowest that the swing comes. frets: the first and last to draw
    large, None for all, or for those that matter; joint: the body-joint fret.
    """
    tight = section.tight
    name = f"String {section.string}" if tight is None else held_words(tight)
    if near and tight is not None:
        return Picture(
            f"{name}, from close by", close_words(tight), close_view(tight, frets, named=False)
        )
    return Picture(f"{name}, nut to saddle", WORDS, side_view(section, joint, frets, named=False))
