"""A whole HTML document that needs nothing else."""

from __future__ import annotations

from typing import Final

from daq.figures.html import Html, tag

#: Nothing may be loaded from anywhere, and nothing runs: the page is whole.
POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


def whole_page(title: str, style: str, *body: Html) -> str:
    """style: trusted CSS. Everything else is escaped by who made it."""
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=POLICY),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", title),
        tag("style", Html(style)),
    )
    return f"<!doctype html>\n{tag('html', head, tag('body', *body), lang='en')}\n"
