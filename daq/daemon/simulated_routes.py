"""The routes of a simulated rig: what stands on it, and orders to the person beside it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, HTTPException
from pydantic import BaseModel

from daq.daemon.hands import Cable, FileFrets, Hands, Lay, Order, OrderRequest, Rod, Strings
from daq.daemon.works import Works


class OrderAnswer(BaseModel):
    """One of the orders there are, in words, and as it is sent. A `job` that is empty is to be
    filled in."""

    words: str
    order: dict[str, Any]


class SimulatedAnswer(BaseModel):
    """How the simulated bench is by the orders given since the daemon began.

    pace: how many times as fast as steel. rod_turns: from where the rod stood first, tightening
    positive. instrument: the text of the neck's instrument file, to open a job with.
    """

    pace: float
    on_the_rig: str
    state: str
    rod_turns: float
    cable: str
    orders: list[OrderAnswer]
    instrument: str


QUARTER = 0.25
ORDERS: tuple[tuple[str, Order], ...] = (
    ("Lay the straightedge on the rig", Lay(what="straightedge")),
    ("Lay the neck on the rig", Lay(what="neck")),
    ("Put the strings on and tune to pitch", Strings(on=True)),
    ("Take the strings off", Strings(on=False)),
    ("Tighten the rod by a quarter turn, from where it stands", Rod(turns=QUARTER)),
    ("Loosen the rod by a quarter turn, from where it stands", Rod(turns=-QUARTER)),
    ("File the frets as the latest plan says", FileFrets(job="")),
    ("Pull the rig's cable", Cable(plugged=False)),
    ("Plug the cable in again", Cable(plugged=True)),
)


def simulated_routes(works: Works, hands: Hands | None) -> APIRouter:
    """hands: None on a rig of steel, where there is nothing to order."""
    routes = APIRouter()

    def there() -> Hands:
        if hands is None:
            raise HTTPException(
                404, "this rig is no simulated one: whoever stands at it does what is to be done"
            )
        return hands

    @routes.get("/simulated", summary="What stands on a simulated rig; 404 on one of steel")
    async def simulated() -> SimulatedAnswer:
        return _answer(there())

    @routes.post("/simulated", summary="Have something done at a simulated rig; 404 on steel")
    def order(asked: OrderRequest) -> SimulatedAnswer:
        obeying = there()
        _check_clear(works, asked)
        obeying.do(asked)
        return _answer(obeying)

    return routes


def _check_clear(works: Works, order: Order) -> None:
    """No hand is at the neck while the carriage runs; only the cable may come loose. Raises
    Busy."""
    work = works.now
    if isinstance(order, Cable) or work is None or work.state == "waiting":
        return
    if work.question is None:
        works.check_free()


def _answer(hands: Hands) -> SimulatedAnswer:
    stands = hands.stands
    return SimulatedAnswer(
        pace=hands.pace,
        on_the_rig=stands.on_the_rig,
        state=stands.state,
        rod_turns=stands.rod_turns,
        cable="in" if stands.plugged else "out",
        orders=[OrderAnswer(words=words, order=order.model_dump()) for words, order in ORDERS],
        instrument=hands.instrument,
    )
