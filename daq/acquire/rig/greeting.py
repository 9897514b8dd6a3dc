"""Who the controllers of a rig are: asked at the beginning, and again after a link was lost."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress

from daq.acquire.links.controller import Controller, Hello
from daq.acquire.links.exchange import Exchange
from daq.acquire.links.patience import Patience
from daq.acquire.links.rig_faults import COMMANDS, RigRefused
from daq.errors import RigError
from daq.link.base import Link
from daq.wire import commands
from daq.wire.records import Event

VERSION = "1"
HELLO_S = 6.0
HELLO_AGAIN_S = 0.3
STOP_S = 3.0
REOPEN_S = 0.2


class Greeting:
    """hellos: what each controller said of itself, the sensor's first; empty before it did.

    reopen: opens the link of this number again.
    """

    def __init__(
        self,
        exchange: Exchange,
        controllers: tuple[Controller, ...],
        reopen: Callable[[int], Link],
    ) -> None:
        self.hellos: tuple[Hello, ...] = ()
        self._exchange = exchange
        self._controllers = controllers
        self._reopen = reopen

    def greet(self, timeout_s: float) -> None:
        """Asks until every controller answers: opening a port resets many a board, which needs
        a moment. Raises RigError where one does not, or both are one."""
        self.hellos = tuple(self._hello(controller, timeout_s) for controller in self._controllers)
        ids = {hello.device_id for hello in self.hellos}
        if len(ids) < len(self.hellos):
            sensor, carriage = self._controllers
            raise RigError(
                f"{sensor.who} and {carriage.who} both say they are {ids.pop()}: give each "
                "controller an id of its own in its firmware, or check that the two ports do not "
                "lead to one"
            )

    def reconnect(self, wait_s: float) -> None:
        """Opens every link that was lost again, as soon as its port is there.

        Raises RigError where a port is not there within `wait_s`, does not answer, or another
        controller answers on it.
        """
        until_s = time.monotonic() + wait_s
        for controller in self._exchange.lost:
            self._exchange.replace(controller, self._opened_again(controller.number, until_s))
            hello = self._hello(controller, HELLO_S)
            known = self.hellos[controller.number]
            if hello.device_id != known.device_id:
                raise RigError(
                    f"{controller.who} says it is {hello.device_id}, and before it was "
                    f"{known.device_id}: put the right cable back into that port"
                )
            with suppress(RigRefused):  # it may refuse to stop what does not run
                self._stop(controller)
            if controller.drives:
                # without power it counts from elsewhere, whether it says so or not
                controller.reset = Event(0, "reset", "", 0)

    def _opened_again(self, number: int, until_s: float) -> Link:
        while True:
            try:
                return self._reopen(number)
            except RigError:
                if time.monotonic() >= until_s:
                    raise
            again_s = time.monotonic() + REOPEN_S
            while time.monotonic() < again_s:
                self._exchange.receive(None)  # the other link must not fill up meanwhile

    def _hello(self, controller: Controller, timeout_s: float) -> Hello:
        patience = Patience(
            controller.who, "answer hello", timeout_s, timeout_s, time.monotonic(), controller.said
        )
        reply = self._exchange.ask(controller, commands.Hello(), patience, again_s=HELLO_AGAIN_S)
        version, device_id, rate_hz = reply.fields
        if version != VERSION:
            raise RigError(
                f"{controller.who} speaks protocol {version}, and this program only "
                f"protocol {VERSION}; bring one of them up to date"
            )
        controller.reset = None
        controller.max_rate_hz = float(rate_hz)
        return Hello(int(version), device_id, controller.max_rate_hz)

    def _stop(self, controller: Controller) -> None:
        awaited = f"answer {COMMANDS['X']}"
        patience = Patience(
            controller.who, awaited, STOP_S, STOP_S, time.monotonic(), controller.said
        )
        self._exchange.ask(controller, commands.Stop(), patience, again_s=STOP_S / 3)
