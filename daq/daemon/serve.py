"""A daemon from its first moment to its last: what is begun, and ended in reverse order."""

from __future__ import annotations

import logging
import os
import threading
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from daq.acquire.rig.owner import command_line
from daq.acquire.rig.session import OpenLink
from daq.daemon.app import Served, make_app
from daq.daemon.hands import Hands
from daq.daemon.health import Doctor
from daq.daemon.hosts import Names, is_loopback
from daq.daemon.http import listening_on, serving
from daq.daemon.hub import Hub
from daq.daemon.keeper import Keeper
from daq.daemon.log import logging_to
from daq.daemon.register import Entry, registered
from daq.daemon.security import Guard
from daq.daemon.token import read_token
from daq.errors import InputError
from daq.files.rig import RigFile
from daq.workshop.place import Workshop

LOG = logging.getLogger("neckform")


@dataclass(frozen=True, slots=True)
class Asked:
    """Where to serve, and what is wanted of who comes. port: 0 for any that is free."""

    host: str
    port: int
    token_file: Path | None
    log_file: Path | None
    program: str


def serve(
    rig_file: RigFile,
    workshop: Workshop,
    open_link: OpenLink,
    asked: Asked,
    say: Callable[[str], None],
    hands: Hands | None = None,
) -> None:
    """Serves a rig until the process is told to stop (KeyboardInterrupt).

    say: is given the line that tells a person where. hands: beside a simulated rig. Raises
    RigError where the rig is served or used already, InputError where it cannot be served there.
    """
    token = _token(asked)
    with ExitStack() as running:
        running.enter_context(logging_to(asked.log_file))
        register = running.enter_context(registered([link.port for link in rig_file.used_links]))
        door = running.enter_context(listening_on(asked.host, asked.port))
        port = door.getsockname()[1]
        url = _url(asked.host, port)
        register.write(_entry(asked, rig_file, workshop, url, token))
        hub, ended = Hub(), threading.Event()
        keeper = Keeper(rig_file, workshop.root, hub, open_link)
        root = str(workshop.root.resolve())
        served = Served(keeper, hub, Doctor(keeper, workshop), asked.program, root, hands)
        app = Guard(make_app(served), Names(asked.host, port), token)
        running.callback(LOG.info, "ended")
        running.enter_context(serving(app, door, ended.set))
        running.callback(hub.close)
        keeper.start()
        running.callback(keeper.close)
        LOG.info("serving", extra={"rig": rig_file.name, "url": url, "program": asked.program})
        say(f"serving {rig_file.name} at {url}")
        try:
            ended.wait()
        except KeyboardInterrupt:
            LOG.info("ending")


def _token(asked: Asked) -> str | None:
    """None on loopback without a file. Raises InputError where a token is needed and not there."""
    if asked.token_file is not None:
        return read_token(asked.token_file)
    if not is_loopback(asked.host):
        raise InputError(
            f"--host {asked.host}: found an address that other machines reach; allowed with "
            "--token-file FILE only, or 127.0.0.1"
        )
    return None


def _url(host: str, port: int) -> str:
    """By which this machine's own programs reach it."""
    name = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
    return f"http://[{name}]:{port}/" if ":" in name else f"http://{name}:{port}/"


def _entry(
    asked: Asked, rig_file: RigFile, workshop: Workshop, url: str, token: str | None
) -> Entry:
    return Entry(
        pid=os.getpid(),
        command=command_line(),
        started=datetime.now().astimezone().isoformat(timespec="seconds"),
        url=url,
        program=asked.program,
        workshop=str(workshop.root.resolve()),
        rig_text=rig_file.text,
        token=token,
    )
