"""HTML by small functions: whatever is not marked as HTML is escaped."""

from __future__ import annotations

from html import escape
from typing import Final

_VOID: Final = frozenset({"meta", "br", "hr"})
#: Parts of a drawing that hold nothing close themselves.
_ALONE: Final = frozenset({"path", "rect"})


class Html(str):
    """Text that is HTML already and stays as it is."""

    __slots__ = ()


def tag(name: str, /, *children: str, **attributes: str | float | None) -> Html:
    """An element. Children that are plain text are escaped, attributes always are.

    `class_` is written class, and font_size font-size; an attribute that is None is left out.
    """
    opening = name + "".join(
        f' {_attribute(key)}="{escape(_value(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    if name in _VOID:
        return Html(f"<{opening}>")
    if name in _ALONE and not children:
        return Html(f"<{opening}/>")
    return Html(f"<{opening}>{joined(*children)}</{name}>")


def joined(*children: str) -> Html:
    """Children one after another."""
    return Html("".join(c if isinstance(c, Html) else escape(c, quote=False) for c in children))


def bullet_list(lines: list[str]) -> Html:
    """A list; nothing where there is nothing to list."""
    return tag("ul", *(tag("li", line) for line in lines)) if lines else Html("")


def titled(title: str, lines: list[str]) -> Html:
    """A list under its heading; nothing where there is nothing to list."""
    return joined(tag("h3", title), bullet_list(lines)) if lines else Html("")


def _attribute(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


def _value(value: str | float | None) -> str:
    return f"{value:.1f}".removesuffix(".0") if isinstance(value, float) else str(value)
