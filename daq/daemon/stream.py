"""The event stream (text/event-stream): one long answer to one client."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator

from starlette.responses import Response
from starlette.types import Message, Receive, Scope, Send

from daq.daemon.hub import Event, Hub, Subscription

STILL_HERE_S = 5.0
"""A comment so often, where there is nothing to tell: silence longer than that is a fault."""
SEND_S = 10.0
BATCH_BYTES = 32_768
HEADERS = [(b"content-type", b"text/event-stream; charset=utf-8"), (b"x-accel-buffering", b"no")]


class EventResponse(Response):
    """Sends a client what the hub tells until either of them ends it.

    A client that reads too slowly is told `cut_off`, if it can be, and let go: it comes back
    with the number of the last event it has seen.
    """

    media_type = "text/event-stream"

    def __init__(self, hub: Hub, *, after: int | None, live: bool) -> None:
        super().__init__()
        self._hub = hub
        self._after = after
        self._live = live

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        awake = asyncio.Event()
        with self._hub.subscribed(_waker(awake), after=self._after, live=self._live) as client:
            await send({"type": "http.response.start", "status": 200, "headers": HEADERS})
            gone = asyncio.create_task(_until_gone(receive, client))
            try:
                await _feed(client, awake, send)
            except TimeoutError:
                pass  # it takes nothing more: let go without a word
            finally:
                gone.cancel()
                await asyncio.gather(gone, return_exceptions=True)


def _waker(awake: asyncio.Event) -> Callable[[], None]:
    loop = asyncio.get_running_loop()

    def wake() -> None:
        if not loop.is_closed():
            loop.call_soon_threadsafe(awake.set)

    return wake


async def _until_gone(receive: Receive, client: Subscription) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
    client.end()


async def _feed(client: Subscription, awake: asyncio.Event, send: Send) -> None:
    await _send(send, b"retry: 1000\n\n")
    while not client.over:
        try:
            await asyncio.wait_for(awake.wait(), STILL_HERE_S)
        except TimeoutError:
            await _send(send, b": still here\n\n")
            continue
        awake.clear()
        for batch in _batches(client.take()):
            if not client.cut:
                await _send(send, batch)
        if client.cut:
            await _send(send, b"event: cut_off\ndata: {}\n\n")
            break
    await _send(send, b"", more=False)


async def _send(send: Send, data: bytes, *, more: bool = True) -> None:
    message: Message = {"type": "http.response.body", "body": data, "more_body": more}
    await asyncio.wait_for(send(message), SEND_S)


def _batches(events: list[Event]) -> Iterator[bytes]:
    """Their frames, some at a time: between two batches a slow client is noticed."""
    batch = b""
    for event in events:
        batch += _frame(event)
        if len(batch) > BATCH_BYTES:
            yield batch
            batch = b""
    if batch:
        yield batch


def _frame(event: Event) -> bytes:
    number = f"id: {event.number}\n" if event.number else ""
    return f"{number}event: {event.kind}\ndata: {event.data}\n\n".encode()
