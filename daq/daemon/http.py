"""The HTTP server in a thread of its own: the main thread waits for signals."""

from __future__ import annotations

import errno
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

import uvicorn
from starlette.types import ASGIApp

from daq.errors import InputError

LARGEST_HEADERS = 16_384
MOST_CONNECTIONS = 128
GRACE_S = 1
END_S = 3.0
UNTAKEN_MS = 20_000
"""A client that takes nothing for so long is cut off by the system, and its memory freed."""


@contextmanager
def listening_on(host: str, port: int) -> Iterator[socket.socket]:
    """The socket that clients come to, until the block ends. Raises InputError."""
    kind = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        door = socket.create_server((host, port), family=kind, backlog=64)
    except (OSError, OverflowError) as error:
        raise InputError(_why_not(host, port, error)) from error
    with door:
        # what it accepts has it too: an answer's head and body must not wait for each other, 40 ms
        door.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        with suppress(OSError, AttributeError):  # not on every system
            door.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, UNTAKEN_MS)
        yield door


@contextmanager
def serving(app: ASGIApp, door: socket.socket, ended: Callable[[], None]) -> Iterator[None]:
    """Serves `app` until the block ends, which must have ended every stream before.

    ended: called where the server ends by itself.
    """
    server = uvicorn.Server(
        uvicorn.Config(
            app,
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_config=None,
            access_log=False,
            proxy_headers=False,
            server_header=False,
            h11_max_incomplete_event_size=LARGEST_HEADERS,
            limit_concurrency=MOST_CONNECTIONS,
            timeout_keep_alive=15,
            timeout_graceful_shutdown=GRACE_S,
        )
    )

    def run() -> None:
        try:
            server.run(sockets=[door])
        finally:
            ended()

    thread = threading.Thread(target=run, name="http", daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.should_exit = True
        thread.join(END_S)


def _why_not(host: str, port: int, error: Exception) -> str:
    number = getattr(error, "errno", None)
    if number == errno.EADDRINUSE:
        return (
            f"--port {port}: found a port that another program listens on; allowed a free one, or 0"
            " for any"
        )
    if number in (errno.EACCES, errno.EPERM):
        return (
            f"--port {port}: found one that only the system's own services may use; allowed 1024 up"
        )
    return f"--host {host}, --port {port}: cannot be listened on ({error})"
