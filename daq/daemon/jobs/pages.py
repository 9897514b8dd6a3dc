"""The job's papers as pages of their own, shown beside the daemon's page or printed."""

from __future__ import annotations

from starlette.responses import Response

#: Whole pages: nothing is loaded, nothing runs; the daemon's own page may hold one in a frame.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'"


def page(html: str) -> Response:
    """With the headers that keep it what it is."""
    return Response(
        html,
        media_type="text/html; charset=utf-8",
        headers={"content-security-policy": POLICY, "x-frame-options": "SAMEORIGIN"},
    )
