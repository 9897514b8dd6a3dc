"""What may not come in, stays out, and is logged."""

from __future__ import annotations

import base64
import contextlib
import json
import logging
import socket
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.daemon.hosts import Names, is_loopback
from daq.daemon.inside import inside
from daq.daemon.security import LARGEST_BODY
from daq.daemon.token import is_allowed, read_token
from daq.errors import InputError

TOKEN = "a-token-of-sixteen-and-more"


class _Kept(logging.Handler):
    def __init__(self) -> None:
        super().__init__()
        self.records: list[logging.LogRecord] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append(record)


@pytest.fixture
def refusals() -> Iterator[list[logging.LogRecord]]:
    kept, log = _Kept(), logging.getLogger("neckform.refused")
    log.addHandler(kept)
    yield kept.records
    log.removeHandler(kept)


def raw(port: int, data: bytes, wait_s: float = 5.0) -> bytes:
    """What comes back for these very bytes until the daemon hangs up."""
    with socket.create_connection(("127.0.0.1", port), timeout=wait_s) as line:
        got = b""
        with suppress(ConnectionError):  # it hangs up on what it does not want to read
            line.sendall(data)
            while piece := line.recv(65536):
                got += piece
        return got


def request(port: int, *lines: str, host: str = "", body: bytes = b"") -> bytes:
    head = "\r\n".join([*lines, f"Host: {host or f'127.0.0.1:{port}'}", "Connection: close"])
    return raw(port, head.encode() + b"\r\n\r\n" + body)


@pytest.mark.parametrize("host", ["127.0.0.1:{}", "localhost:{}", "[::1]:{}", "LOCALHOST:{}"])
def test_its_own_names(bench: Any, host: str) -> None:
    assert b" 200 " in request(bench.port, "GET /v1/state HTTP/1.1", host=host.format(bench.port))


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:{}", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.evil:{}", "[::1"],
)
def test_another_name_is_refused(bench: Any, host: str, refusals: Any) -> None:
    answer = request(bench.port, "GET /v1/state HTTP/1.1", host=host.format(bench.port))
    assert b" 421 " in answer.splitlines()[0]
    assert b"short-rail" not in answer
    assert refusals[-1].status == 421


def test_no_name_and_two_names_are_refused(bench: Any) -> None:
    for head in (b"", b"Host: a\r\nHost: b\r\n"):
        answer = raw(bench.port, b"GET /v1/state HTTP/1.1\r\n%bConnection: close\r\n\r\n" % head)
        assert b" 400 " in answer.splitlines()[0]


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "https://127.0.0.1:{}",
        "http://127.0.0.1:1",
        "http://localhost:{}",
    ],
)
def test_another_origin_is_refused(
    bench: Any, client: httpx.Client, origin: str, refusals: Any
) -> None:
    answer = client.post(
        "/v1/work",
        json={"kind": "over_pads"},
        headers={"Origin": origin.format(bench.port)},
    )
    assert answer.status_code == 403
    assert "access-control-allow-origin" not in answer.headers
    assert refusals[-1].status == 403
    assert refusals[-1].path == "/v1/work"
    assert bench.keeper.works.all() == []


def test_its_own_page_may_ask(bench: Any, client: httpx.Client) -> None:
    headers = {"Origin": bench.url, "Sec-Fetch-Site": "same-origin"}
    assert client.get("/v1/state", headers=headers).status_code == 200


def test_a_page_of_elsewhere_may_link_here_and_ask_nothing(client: httpx.Client) -> None:
    elsewhere = {"Sec-Fetch-Site": "cross-site"}
    assert client.get("/v1/state", headers=elsewhere).status_code == 403
    assert client.get("/v1/events", headers=elsewhere).status_code == 403
    assert client.get("/", headers={**elsewhere, "Sec-Fetch-Mode": "navigate"}).status_code == 200
    assert client.get("/", headers={**elsewhere, "Sec-Fetch-Mode": "no-cors"}).status_code == 403


def test_a_preflight_of_another_origin_gets_nothing(client: httpx.Client) -> None:
    asked = {"Origin": "http://evil.example", "Access-Control-Request-Method": "POST"}
    answer = client.options("/v1/work", headers=asked)
    assert answer.status_code == 403
    assert not [name for name in answer.headers if name.startswith("access-control")]


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_a_form_of_another_page_cannot_begin_a_work(client: httpx.Client, kind: str) -> None:
    headers = {"Content-Type": kind} if kind else {}
    answer = client.post("/v1/work", content=b'{"kind": "over_pads"}', headers=headers)
    assert answer.status_code == 415


def test_without_the_token_nothing_is_answered(make_bench: Any, refusals: Any) -> None:
    bench = make_bench(TOKEN)
    with httpx.Client(base_url=bench.url) as client:
        for path in (
            "/",
            "/v1/state",
            "/v1/events",
            "/v1/openapi.json",
            "/page/js/main.js",
            "/none",
        ):
            assert client.get(path).status_code == 401
        wrong = client.get("/v1/state", headers={"Authorization": f"Bearer {TOKEN}x"})
        assert wrong.status_code == 401
        assert refusals[-1].status == 401
        assert TOKEN not in str(vars(refusals[-1]))
        right = client.get("/v1/state", headers={"Authorization": f"Bearer {TOKEN}"})
        assert right.status_code == 200
        assert client.get("/", auth=("anybody", TOKEN)).status_code == 200


def test_a_large_body_is_refused_before_it_is_sent(bench: Any, refusals: Any) -> None:
    length = LARGEST_BODY + 1
    answer = request(
        bench.port,
        "POST /v1/work HTTP/1.1",
        "Content-Type: application/json",
        f"Content-Length: {length}",
    )
    assert b" 413 " in answer.splitlines()[0]
    assert refusals[-1].status == 413


def test_a_large_body_in_pieces_is_refused_while_it_comes(bench: Any, client: httpx.Client) -> None:
    def pieces() -> Any:
        for _ in range(LARGEST_BODY // 65536 + 2):
            yield b" " * 65536

    answer = client.post("/v1/work", content=pieces(), headers={"Content-Type": "application/json"})
    assert answer.status_code == 413


def test_a_body_up_to_the_limit_is_read(client: httpx.Client) -> None:
    body = b'{"kind": "none"' + b" " * (LARGEST_BODY - 16) + b"}"
    answer = client.post("/v1/work", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"kind": NaN}',
        b"null",
        b'"record"',
        b'{"a":' * 9000,
    ],
    ids=["empty", "cut", "not text", "deep", "nan", "null", "text", "deep groups"],
)
def test_a_malformed_body_is_refused(client: httpx.Client, body: bytes, refusals: Any) -> None:
    answer = client.post("/v1/work", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code in (400, 422)
    assert answer.json()["kind"] == "InputError"
    assert refusals[-1].path == "/v1/work"


def test_huge_headers_are_refused(bench: Any) -> None:
    answer = request(bench.port, "GET /v1/state HTTP/1.1", f"X-Much: {'a' * 200_000}")
    assert not answer or b" 400 " in answer.splitlines()[0]
    assert b"watching" not in answer


def test_what_is_not_http_is_refused(bench: Any, client: httpx.Client) -> None:
    assert b" 400 " in raw(bench.port, b"\x00\x01\x02 rubbish\r\n\r\n").splitlines()[0]
    assert client.get("/v1/state").status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/page/../../../etc/passwd",
        "/page/..%2f..%2fetc%2fpasswd",
        "/page/%2e%2e/%2e%2e/etc/passwd",
        "/page/..\\..\\etc",
        "/v1/work/../state",
    ],
)
def test_a_path_that_goes_up_is_refused(bench: Any, path: str, refusals: Any) -> None:
    answer = request(bench.port, f"GET {path} HTTP/1.1")
    assert b" 400 " in answer.splitlines()[0]
    assert b"root:" not in answer
    assert refusals[-1].status == 400


@pytest.mark.parametrize(
    "path",
    [
        "../outside.h5", "a/../../outside.h5", "/tmp/outside.h5", "leads-out/x.h5", "a.txt",
        "a/.b/c.h5", ".h5", "a\\b.h5", "a\0b.h5", "around/x.h5", "x" * 300 + "/../../y.h5",
    ],
)  # fmt: skip
def test_a_scan_is_written_inside_the_workshop_only(tmp_path: Path, path: str) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "leads-out").symlink_to(tmp_path)
    (home / "around").symlink_to(home / "around")
    with pytest.raises(InputError, match="path: found"):
        inside(home, path)


def test_a_recording_out_of_the_workshop_is_refused(
    bench: Any, client: httpx.Client, begin: Any, passes: Any
) -> None:
    from daq.daemon.work import RecordWork

    asked = json.loads(RecordWork(begin=begin, passes=passes, path="../out.h5").model_dump_json())
    work = client.post("/v1/work", json=asked).json()
    bench.until(lambda: bench.keeper.works.find(work["id"]).over)
    result = client.get(f"/v1/work/{work['id']}/result")
    assert result.status_code == 422
    assert "within the workshop" in result.json()["message"]
    assert not (bench.root.parent / "out.h5").exists()


@given(st.text(max_size=60))
def test_whatever_path_is_sent_it_stays_inside(tmp_path_factory: Any, sent: str) -> None:
    home = tmp_path_factory.getbasetemp()
    with contextlib.suppress(InputError):
        assert inside(home, sent).is_relative_to(home.resolve())


def test_a_link_within_the_workshop_is_followed(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    (tmp_path / "alias").symlink_to(tmp_path / "jobs")
    assert inside(tmp_path, "alias/x.h5") == (tmp_path / "jobs/x.h5").resolve()


def test_a_token_file_is_its_owners_alone(tmp_path: Path) -> None:
    file = tmp_path / "token"
    file.write_text(TOKEN + "\n")
    file.chmod(0o640)
    with pytest.raises(InputError, match="chmod 600"):
        read_token(file)
    file.chmod(0o600)
    assert read_token(file) == TOKEN
    file.write_text("short")
    with pytest.raises(InputError, match="at least 16"):
        read_token(file)
    with pytest.raises(InputError, match="cannot be read"):
        read_token(tmp_path / "none")
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_the_token_as_a_browser_sends_it() -> None:
    def basic(text: str) -> str:
        return "Basic " + base64.b64encode(text.encode()).decode()

    assert is_allowed(basic(f"me:{TOKEN}"), TOKEN)
    assert is_allowed(f"bearer {TOKEN}", TOKEN)
    for wrong in (
        "",
        "Bearer",
        "Bearer ",
        TOKEN,
        basic(TOKEN),
        basic("me:x"),
        "Basic ???",
        "Basic é",
    ):
        assert not is_allowed(wrong, TOKEN)


def test_names_of_a_daemon_bound_elsewhere() -> None:
    everywhere, one = Names("0.0.0.0", 80), Names("192.168.1.7", 8643)
    assert everywhere.is_own("192.168.1.7")
    assert everywhere.is_own("localhost:80")
    assert not everywhere.is_own("rig.example:80")
    assert one.is_own("192.168.1.7:8643")
    assert not one.is_own("192.168.1.8:8643")
    assert one.is_own_origin("http://192.168.1.7:8643", "192.168.1.7:8643")
    assert not one.is_own_origin("http://192.168.1.7:8643", "127.0.0.1:8643")


@pytest.mark.parametrize(
    ("host", "loop"),
    [("127.0.0.1", True), ("127.8.8.8", True), ("::1", True), ("localhost", True),
     ("0.0.0.0", False), ("::", False), ("192.168.1.7", False), ("localhost.example", False)],
)  # fmt: skip
def test_what_only_this_machine_reaches(host: str, loop: bool) -> None:
    assert is_loopback(host) is loop


def test_every_answer_has_the_headers_that_keep_pages_apart(client: httpx.Client) -> None:
    for answer in (client.get("/"), client.get("/none"), client.get("/v1/state")):
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["x-frame-options"] == "DENY"
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert "access-control-allow-origin" not in answer.headers
