"""The client's end of the daemon's HTTP: small enough for every command to import."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException, HTTPResponse
from typing import Any
from urllib.parse import urlsplit

from daq.errors import FileError, InputError, NeckformError, RigError

WAIT_S = 15.0
"""The daemon says something at least every five seconds, where it lives."""
_KINDS = {kind.__name__: kind for kind in (InputError, RigError, FileError)}


class Gone(Exception):
    """The daemon does not answer any more."""


@dataclass(frozen=True, slots=True)
class Told:
    """One event of the stream. number: 0 where it is not kept."""

    number: int
    kind: str
    data: dict[str, Any]


class HttpLine:
    """Asks the daemon at a url, one connection for each question."""

    def __init__(self, url: str, token: str | None) -> None:
        parts = urlsplit(url)
        self._host, self._port = parts.hostname or "", parts.port or 80
        self._headers = {} if token is None else {"Authorization": f"Bearer {token}"}

    def ask(self, method: str, path: str, body: str | None = None) -> Any:
        """The answer's document. Raises what the daemon says is wrong, or Gone."""
        with_json = {**self._headers, "Content-Type": "application/json"}
        connection = HTTPConnection(self._host, self._port, timeout=WAIT_S)
        try:
            connection.request(method, path, body, with_json)
            answer = connection.getresponse()
            document = json.loads(answer.read())
        except (OSError, HTTPException, ValueError) as error:
            raise Gone(str(error)) from error
        finally:
            connection.close()
        if answer.status >= 400:
            raise error_of(document)
        return document

    def events(self, after: int) -> Iterator[Told]:
        """What happened after that event, and what happens; ends where the stream does."""
        connection = HTTPConnection(self._host, self._port, timeout=WAIT_S)
        try:
            connection.request("GET", f"/v1/events?live=false&after={after}", headers=self._headers)
            answer = connection.getresponse()
            if answer.status == 200:
                yield from _told(answer)
        except (OSError, HTTPException, ValueError) as error:
            raise Gone(str(error)) from error
        finally:
            connection.close()


def error_of(document: Any) -> NeckformError:
    """The error that the daemon answered with."""
    kind = _KINDS.get(str(document.get("kind")), RigError)
    return kind(str(document.get("message")))


def _told(answer: HTTPResponse) -> Iterator[Told]:
    """Events are lines `field: value`, each event ended by an empty line."""
    fields: dict[str, str] = {}
    while line := answer.readline():
        name, _, value = line.decode().rstrip("\n").partition(": ")
        if name:
            fields[name] = value
        elif "data" in fields:
            number = int(fields.get("id", "0"))
            yield Told(number, fields.get("event", ""), json.loads(fields["data"]))
            fields = {}
