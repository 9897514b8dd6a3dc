"""The event stream over HTTP: what is told, what is told again, and slow clients."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from typing import Any

import httpx

from daq.daemon.hub import LIVE


def events(answer: httpx.Response) -> Iterator[tuple[str, str, Any]]:
    """(id, kind, data) of each."""
    fields: dict[str, str] = {}
    for line in answer.iter_lines():
        name, _, value = line.partition(": ")
        if name:
            fields[name] = value
        elif "data" in fields:
            yield fields.get("id", ""), fields["event"], json.loads(fields["data"])
            fields = {}


def test_the_rig_live(client: httpx.Client) -> None:
    with client.stream("GET", "/v1/events") as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        told = next(data for _, kind, data in events(answer) if kind == LIVE)
    assert told["x_mm"] == 0
    assert 1.5 <= told["z_mm"] <= 1.502
    assert told["at_ms"] >= told["from_ms"] > 1.6e12


def test_what_happened_before_is_told_to_who_asks(bench: Any, client: httpx.Client) -> None:
    with client.stream("GET", "/v1/events?live=false&after=0") as answer:
        first = next(events(answer))
    assert first[1:] == ("rig", {"state": "watching", "why": ""})
    bench.hub.publish("rig", {"state": "x"})
    again = {"Last-Event-ID": first[0]}  # as a browser sends it, whatever the address says
    with client.stream("GET", "/v1/events?live=false&after=0", headers=again) as answer:
        assert next(events(answer))[2] == {"state": "x"}


def test_a_client_that_goes_is_let_go(bench: Any, client: httpx.Client) -> None:
    with client.stream("GET", "/v1/events") as answer:
        coming = events(answer)  # held on to: letting go of it ends the stream
        next(coming)
        assert bench.hub.clients == 1
    bench.until(lambda: bench.hub.clients == 1)  # the one that waits here


def test_a_slow_client_is_cut_off_and_the_rig_goes_on(bench: Any) -> None:
    with socket.socket() as slow:
        slow.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        slow.connect(("127.0.0.1", bench.port))
        slow.settimeout(20)
        slow.sendall(f"GET /v1/events HTTP/1.1\r\nHost: 127.0.0.1:{bench.port}\r\n\r\n".encode())
        bench.until(lambda: bench.hub.clients == 2)
        much = {"much": "x" * 20_000}
        # the system's buffers hold some 6 MB, a batch under way 256 events, the queue as many
        for _ in range(1000):
            bench.hub.publish(LIVE, much, kept=False)
        samples = bench.keeper.watching.live.time.samples
        bench.until(lambda: bench.keeper.watching.live.time.samples > samples + 100)
        slow.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1 << 22)
        got = b""
        while piece := slow.recv(1 << 20):
            got = (got + piece)[-200:]
            if b"event: cut_off" in got:
                break
    assert b"event: cut_off" in got


def test_too_many_clients_are_told_so(bench: Any, client: httpx.Client, monkeypatch: Any) -> None:
    monkeypatch.setattr("daq.daemon.hub.MOST_CLIENTS", 0)
    answer = client.get("/v1/events")
    assert answer.status_code == 503
    assert "too many listen" in answer.json()["message"]


def test_the_stream_ends_with_the_daemon(bench: Any, client: httpx.Client) -> None:
    with client.stream("GET", "/v1/events?live=false&after=0") as answer:
        coming = events(answer)
        next(coming)
        bench.stop()
        assert [kind for _, kind, _ in coming][-1] == "rig"
    assert bench.keeper.state.word == "ended"
    assert bench.rig.rate_hz == 0
