"""A reader of drawings: their words with the room that these take, their paths by kind."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

from daq.figures.svg import TEXT, text_width


def drawings_of(page: str) -> list[Drawing]:
    """All that are on it, each read as XML."""
    return [Drawing(ET.fromstring(one)) for one in re.findall(r"<svg.*?</svg>", page, re.S)]


@dataclass(frozen=True)
class Text:
    """A line of text in a drawing and the room it may take."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Text) -> bool:
        return (
            self.left < other.right and other.left < self.right
            and self.top < other.bottom and other.top < self.bottom
        )  # fmt: skip


@dataclass(frozen=True)
class Drawing:
    """One drawing of a page."""

    root: ET.Element

    @property
    def title(self) -> str:
        return self.root.findtext("title") or ""

    @property
    def size(self) -> tuple[float, float]:
        _, _, width, height = self.root.attrib["viewBox"].split()
        return float(width), float(height)

    def texts(self) -> list[Text]:
        return [_room(element, kinds) for element, kinds in _walk(self.root, ())
                if element.tag == "text"]  # fmt: skip

    def words(self) -> list[str]:
        return [text.text for text in self.texts()]

    def paths(self, kind: str) -> list[str]:
        """Paths of a style class, or within a group of it."""
        return [element.attrib["d"] for element, kinds in _walk(self.root, ())
                if element.tag == "path" and kind in kinds]  # fmt: skip


def _walk(
    element: ET.Element, kinds: tuple[str, ...]
) -> Iterator[tuple[ET.Element, tuple[str, ...]]]:
    kinds = (*kinds, *element.attrib.get("class", "").split())
    yield element, kinds
    for child in element:
        yield from _walk(child, kinds)


def _room(element: ET.Element, kinds: tuple[str, ...]) -> Text:
    text = element.text or ""
    wide = text_width(text, "head" in kinds or "buzzes" in kinds)
    x, y = float(element.attrib["x"]), float(element.attrib["y"])
    anchors = [kind for kind in kinds if kind in ("mid", "end")]
    before = {"mid": 0.5, "end": 1.0}[anchors[-1]] * wide if anchors else 0.0
    if "transform" in element.attrib:
        assert element.attrib["transform"].startswith("rotate(-90 ")
        return Text(text, x - 0.8 * TEXT, y + before - wide, x + 0.2 * TEXT, y + before)
    return Text(text, x - before, y - 0.8 * TEXT, x - before + wide, y + 0.2 * TEXT)
