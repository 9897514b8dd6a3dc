"""What a person's hands do at a simulated rig: a short list of orders, done one at a time."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Literal, assert_never

from pydantic import BaseModel, ConfigDict, Field

from daq.demo.bench import Bench
from daq.errors import InputError
from daq.workshop.job import Job
from daq.workshop.place import Workshop
from daq.workshop.store import read_group

MOST_TURNS = 1.0
What = Literal["neck", "straightedge"]
State = Literal["strung", "unstrung"]


class _Ordered(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True)


class Lay(_Ordered):
    """Take off what stands on the rig, and lay this there; never twice quite alike."""

    do: Literal["lay"] = "lay"
    what: What


class Strings(_Ordered):
    """Strings on and at pitch, or off."""

    do: Literal["strings"] = "strings"
    on: bool


class Rod(_Ordered):
    """Turn the truss rod by so much from where it stands now; tightening is positive."""

    do: Literal["rod"] = "rod"
    turns: Annotated[float, Field(ge=-MOST_TURNS, le=MOST_TURNS)]


class FileFrets(_Ordered):
    """File the frets as a plan of a job says. plan: its file's name; None for the latest."""

    do: Literal["file"] = "file"
    job: Annotated[str, Field(max_length=200)]
    plan: Annotated[str, Field(max_length=200)] | None = None


class Cable(_Ordered):
    """Pull the rig's cable, or plug it in again."""

    do: Literal["cable"] = "cable"
    plugged: bool


Order = Lay | Strings | Rod | FileFrets | Cable
OrderRequest = Annotated[Order, Field(discriminator="do")]


@dataclass(frozen=True, slots=True)
class Stands:
    """How the bench is by the orders given so far. rod_turns: from where the rod stood first."""

    on_the_rig: What = "neck"
    state: State = "strung"
    rod_turns: float = 0.0
    plugged: bool = True


class Hands:
    """Beside a simulated rig, from any thread.

    It starts with the neck on the rig, strung. instrument: the text of its file, as measured by
    hand. pace: how many times as fast as steel the rig is.
    """

    def __init__(self, bench: Bench, workshop: Workshop, instrument: str, pace: float) -> None:
        self.instrument = instrument
        self.pace = pace
        self.stands = Stands()
        self._bench = bench
        self._workshop = workshop
        self._lock = threading.Lock()
        self._filed: set[Path] = set()

    def do(self, order: Order) -> Stands:
        """How the bench is afterwards.

        Raises InputError for what cannot be done now, or a job or plan that is not there; as
        `Bench.do` too.
        """
        with self._lock:
            self.stands = self._done(order)
            return self.stands

    def _done(self, order: Order) -> Stands:
        match order:
            case Lay():
                self._bench.do("place", what=order.what)
                return replace(self.stands, on_the_rig=order.what)
            case Strings():
                state: State = "strung" if order.on else "unstrung"
                self._bench.do("state", state=state)
                return replace(self.stands, state=state)
            case Rod():
                self._bench.do("rod", turns=order.turns)
                return replace(self.stands, rod_turns=self.stands.rod_turns + order.turns)
            case FileFrets():
                self._file(order)
                return self.stands
            case Cable():
                return self._cable(order)
            case _:
                assert_never(order)

    def _file(self, order: FileFrets) -> None:
        if self.stands.state == "strung":
            raise InputError("the strings are on; take them off before the frets are filed")
        path = _plan_path(self._workshop.job(order.job), order.plan)
        cuts = read_group(path).get("cuts")
        if not cuts:
            raise InputError(f"{path}: found no cuts in it; there is nothing to file")
        if path in self._filed:
            raise InputError(f"{path}: the frets are filed by it already; scan them again")
        self._bench.file_frets(cuts)
        self._filed.add(path)

    def _cable(self, order: Cable) -> Stands:
        if order.plugged == self.stands.plugged:
            raise InputError(f"the cable is {'in' if order.plugged else 'out'} already")
        self._bench.do("plug" if order.plugged else "pull")
        return replace(self.stands, plugged=order.plugged)


def _plan_path(job: Job, name: str | None) -> Path:
    """Raises InputError where there is no such plan."""
    plans = {path.name: path for path in job.plans()}
    if name is None and plans:
        return list(plans.values())[-1]
    if name is None or name not in plans:
        there = ", ".join(plans) or "none yet"
        asked = "" if name is None else f"plan {name[:80]}: "
        raise InputError(f"job {job.name}: {asked}found no such plan; the plans there are: {there}")
    return plans[name]
