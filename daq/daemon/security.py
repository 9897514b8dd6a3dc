"""Stands before every route: what may not come in is refused there, and every refusal logged."""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import Mapping

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from daq.daemon.hosts import Names
from daq.daemon.token import is_allowed

LARGEST_BODY = 4 * 2**20
BODY_S = 10.0
LOG = logging.getLogger("neckform.refused")
HEADERS: Mapping[bytes, bytes] = {
    b"content-security-policy": b"default-src 'none'; script-src 'self'; style-src 'self'; "
    b"connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; "
    b"frame-ancestors 'none'",
    b"x-content-type-options": b"nosniff",
    b"x-frame-options": b"DENY",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-resource-policy": b"same-origin",
    b"cross-origin-opener-policy": b"same-origin",
    b"cache-control": b"no-store",
}


class Refused(Exception):
    """A request that does not come in."""

    def __init__(self, status: int, why: str) -> None:
        self.status = status
        self.why = why
        super().__init__(why)


class Guard:
    """Lets requests through to `app`. token: wanted with every request; None on loopback."""

    def __init__(self, app: ASGIApp, names: Names, token: str | None) -> None:
        self._app = app
        self._names = names
        self._token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
            else:
                await self._app(scope, receive, send)
            return
        guarded = _Sending(scope, send)
        try:
            self._check(scope)
            body = await _whole_body(scope, receive)
        except Refused as refused:
            await guarded.refuse(refused)
            return
        await self._app(scope, _again(body, receive), guarded)

    def _check(self, scope: Scope) -> None:
        """Raises Refused."""
        headers = _headers(scope)
        host = headers.get("host", "")
        if not self._names.is_own(host):
            raise Refused(421, f"Host {host[:80]!r} is not a name of this daemon")
        origin = headers.get("origin")
        if origin is not None and not self._names.is_own_origin(origin, host):
            raise Refused(403, f"a page of {origin[:80]!r} may not ask this daemon")
        self._check_site(scope, headers)
        if self._token is not None and not is_allowed(
            headers.get("authorization", ""), self._token
        ):
            raise Refused(401, "the token is missing or wrong: Authorization: Bearer TOKEN")
        path = scope.get("raw_path", b"").lower()
        if (
            ".." in scope["path"]
            or b"%2e" in path
            or "\\" in scope["path"]
            or "\0" in scope["path"]
        ):
            raise Refused(400, "a path goes down only")
        if scope["method"] == "POST":
            kind = headers.get("content-type", "").partition(";")[0].strip().lower()
            if kind != "application/json":
                raise Refused(415, f"found content-type {kind[:80]!r}; allowed application/json")

    def _check_site(self, scope: Scope, headers: Mapping[str, str]) -> None:
        """A browser says where a request comes from also where it sends no Origin. A link to the
        page itself may stand anywhere."""
        site = headers.get("sec-fetch-site", "none")
        opened = scope["path"] == "/" and headers.get("sec-fetch-mode") == "navigate"
        if site not in ("none", "same-origin") and not opened:
            raise Refused(403, f"a {site[:20]} page may not ask this daemon")


class _Sending:
    """Adds the headers that every answer has, and logs those that refuse."""

    def __init__(self, scope: Scope, send: Send) -> None:
        self._scope = scope
        self._send = send

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            has = {name for name, _ in message["headers"]}
            new = [pair for pair in HEADERS.items() if pair[0] not in has]
            message = {**message, "headers": [*message["headers"], *new]}
            if 400 <= message["status"] < 500:
                self._log(message["status"], self._scope.get("state", {}).get("why", ""))
        await self._send(message)

    async def refuse(self, refused: Refused) -> None:
        """The answer to what does not come in; the connection ends with it."""
        self._scope.setdefault("state", {})["why"] = refused.why
        body = json.dumps({"kind": "InputError", "message": refused.why}).encode()
        headers = [
            (b"content-type", b"application/json"),
            (b"content-length", b"%d" % len(body)),
            (b"connection", b"close"),
        ]
        if refused.status == 401:
            headers.append((b"www-authenticate", b'Basic realm="neckform", charset="UTF-8"'))
        await self({"type": "http.response.start", "status": refused.status, "headers": headers})
        await self({"type": "http.response.body", "body": body})

    def _log(self, status: int, why: str) -> None:
        client = (self._scope.get("client") or ("",))[0]
        told = {"method": self._scope["method"], "path": self._scope["path"][:200]}
        LOG.warning("refused", extra={**told, "status": status, "client": client, "why": why})


def _headers(scope: Scope) -> dict[str, str]:
    """By lower-case name; one that came twice is refused where it decides."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1")
        if key in found and key in ("host", "origin", "authorization", "content-type"):
            raise Refused(400, f"{key} came twice")
        found[key] = value.decode("latin-1")
    return found


async def _whole_body(scope: Scope, receive: Receive) -> bytes:
    """Read before anything is done with it. Raises Refused where it is too long or too slow."""
    said = dict(scope["headers"]).get(b"content-length", b"0")
    if not said.isdigit() or int(said[:20]) > LARGEST_BODY:
        raise Refused(413, f"a body of more than {LARGEST_BODY} bytes")
    body = b""
    try:
        async with asyncio.timeout(BODY_S):
            while True:
                message = await receive()
                body += bytes(message.get("body", b""))
                if len(body) > LARGEST_BODY:
                    raise Refused(413, f"a body of more than {LARGEST_BODY} bytes")
                if not message.get("more_body", False):
                    return body
    except TimeoutError:
        raise Refused(408, f"a body that takes more than {BODY_S:g} s") from None


def _again(body: bytes, receive: Receive) -> Receive:
    """The body once more, in one piece; then whatever comes after it."""
    given = False

    async def read() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return read
