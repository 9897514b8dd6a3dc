"""Years of an instrument or a rig as one page: what changed, pictures, every number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from daq.figures.cells import figure
from daq.figures.html import Html, bullet_list, tag
from daq.figures.picture import Picture
from daq.report.style import STYLE
from daq.report.tabled import table
from daq.report.whole import whole_page

_STYLE: Final = STYLE + '@page { @bottom-left { content: "archive"; font: 8.5pt sans-serif; } }\n'


@dataclass(frozen=True, slots=True)
class YearsPage:
    """What stands on it. kind: over the name. headers, rows: of the table at the end."""

    kind: str
    name: str
    about: str
    said: Sequence[str]
    pictures: Sequence[Picture]
    caption: str
    headers: Sequence[str]
    rows: Sequence[Sequence[str]]


def years_html(page: YearsPage) -> str:
    """A whole HTML document without scripts or links; every name is escaped."""
    return whole_page(
        f"{page.name}: over the years",
        _STYLE,
        tag(
            "main",
            tag("p", page.kind, class_="kind"),
            tag("h1", page.name),
            tag("p", page.about, class_="about"),
            bullet_list(list(page.said)),
            *(_drawn(one) for one in page.pictures),
            table(page.caption, page.headers, page.rows, kind="close"),
        ),
    )


def _drawn(picture: Picture) -> Html:
    return figure(picture.title, picture.words, picture.svg)
