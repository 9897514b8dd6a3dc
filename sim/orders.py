"""One JSON line in, one JSON line out: what the person at the simulated bench is told to do."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import numpy as np

from sim.bench import Cut
from sim.controller import Flood
from sim.files import write_files
from sim.instrument import FloatArray
from sim.limits import Refusal
from sim.placing import How, What
from sim.plunger import CameFrom
from sim.rig import BadOrder, Rig
from sim.straightedge import Turned

Order = dict[str, Any]


def answer(rig: Rig, line: str) -> str:
    """Always one line of JSON with `ok`; never raises for anything a line can hold."""
    try:
        order = json.loads(line)
        if not isinstance(order, dict):
            raise BadOrder("an order is a JSON object with a key do")
        return json.dumps({"ok": True, **_do(rig, order)})
    except json.JSONDecodeError as fault:
        return _refused(f"not JSON: {fault}")
    except KeyError as missing:
        return _refused(f"the order lacks the key {missing}")
    except (BadOrder, Refusal, AttributeError, OSError, TypeError, ValueError) as fault:
        return _refused(str(fault))


def _refused(why: str) -> str:
    return json.dumps({"ok": False, "why": why})


def _do(rig: Rig, order: Order) -> Order:
    known = {
        "place": _place,
        "state": _state,
        "cut": _cut,
        "rod": _rod,
        "temperature": _temperature,
        "push": _push,
        "setup": _setup,
        "files": _files,
        "pull": _pull,
        "plug": _plug,
        "silence": _silence,
        "noise": _noise,
        "stall": _stall,
        "repeat": _repeat,
        "flood": _flood,
        "freeze_clock": _freeze_clock,
        "truth": _truth,
        "quit": _quit,
    }
    do = known.get(order["do"])
    if do is None:
        raise BadOrder(f"unknown order {order['do']!r}; known: {', '.join(known)}")
    return do(rig, order)


def _place(rig: Rig, order: Order) -> Order:
    rig.bench.place(_one_of(order["what"], *get_args(What)), _how(order))
    return {}


def _how(order: Order) -> How:
    return How(
        at_mm=float(order["at_mm"]) if "at_mm" in order else None,
        y_mm=float(order.get("y_mm", 0.0)),
        turned=_one_of(order.get("turned", "no"), *get_args(Turned)),
        shift_mm=float(order.get("shift_mm", 0.0)),
        mm=_size_mm(order),
        tip_from=_one_of(order.get("tip_from"), None, *get_args(CameFrom)),
    )


def _size_mm(order: Order) -> float:
    """A gauge block may be none at all; a pin has a size."""
    size_mm = float(order["mm"]) if order["what"] in ("gauge", "pin") else 0.0
    if size_mm < 0.0 or (order["what"] == "pin" and size_mm == 0.0):
        raise BadOrder(f"mm {size_mm:g} is no size for a {order['what']}")
    return size_mm


def _state(rig: Rig, order: Order) -> Order:
    rig.bench.set_state(_one_of(order["state"], "strung", "unstrung"))
    return {}


def _cut(rig: Rig, order: Order) -> Order:
    made = rig.bench.scenario.instrument
    cuts = [
        Cut(
            _number(each["fret"], made.frets, "fret"),
            _number(each["string"], made.strings, "string"),
            float(each["remove_um"]),
        )
        for each in order["cuts"]
    ]
    rig.bench.cut(cuts, float(order.get("gain", 1.0)), float(order.get("hand_um", 0.0)))
    return {}


def _rod(rig: Rig, order: Order) -> Order:
    rig.bench.turn_rod(float(order["turns"]))
    return {}


def _temperature(rig: Rig, order: Order) -> Order:
    now_s = rig.device.now_s
    rig.bench.climate.change(now_s, float(order["celsius"]), float(order.get("over_s", 0.0)))
    return {}


def _push(rig: Rig, order: Order) -> Order:
    to_mm, seconds = float(order["to_mm"]), float(order["seconds"])
    rig.push(to_mm, seconds, float(order.get("y_mm", 0.0)))
    return {}


def _setup(rig: Rig, order: Order) -> Order:
    rig.bench.set_ends(_by_string(rig, order, "nut_mm"), _by_string(rig, order, "saddles_mm"))
    return {}


def _files(rig: Rig, order: Order) -> Order:
    folder = Path(order["folder"])
    made = rig.bench.scenario.instrument
    written = write_files(folder, rig.port_names, rig.speaks, rig.by_hand, rig.bench.spec, made)
    return {"rig": str(written[0]), "instrument": str(written[1])}


def _pull(rig: Rig, order: Order) -> Order:
    rig.pull(order.get("link"))
    return {}


def _plug(rig: Rig, order: Order) -> Order:
    rig.plug()
    return {"port": rig.port_name, "ports": rig.port_names}


def _silence(rig: Rig, order: Order) -> Order:
    rig.port(order.get("link")).silence(bool(order.get("on", True)))
    return {}


def _noise(rig: Rig, order: Order) -> Order:
    rng = np.random.default_rng(int(order.get("seed", 0)))
    rig.port(order.get("link")).noise(rng.bytes(int(order.get("bytes", 4096))))
    return {}


def _stall(rig: Rig, order: Order) -> Order:
    rig.device.stall()
    return {}


def _repeat(rig: Rig, order: Order) -> Order:
    rig.controller(order.get("link")).trouble("repeat", bool(order.get("on", True)))
    return {}


def _flood(rig: Rig, order: Order) -> Order:
    kind = _one_of(order.get("what", "samples"), *get_args(Flood))
    rig.port(order.get("link")).flood(kind if order.get("on", True) else None)
    return {}


def _freeze_clock(rig: Rig, order: Order) -> Order:
    rig.controller(order.get("link")).trouble("freeze_clock", bool(order.get("on", True)))
    return {}


def _truth(rig: Rig, order: Order) -> Order:
    return rig.bench.truth(rig.device.now_s)


def _quit(rig: Rig, order: Order) -> Order:
    rig.quit()
    return {}


def _one_of(value: Any, *allowed: str | None) -> Any:
    if value not in allowed:
        names = ", ".join(each for each in allowed if each is not None)
        raise BadOrder(f"found {value!r}; allowed: {names}")
    return value


def _number(value: Any, last: int, what: str) -> int:
    if not isinstance(value, int) or not 1 <= value <= last:
        raise BadOrder(f"{what} {value!r} is not one of 1 to {last}")
    return value


def _by_string(rig: Rig, order: Order, key: str) -> FloatArray:
    """{"1": 0.05, ...} as float[strings], 0 where a string is not named."""
    strings = rig.bench.scenario.instrument.strings
    changes = np.zeros(strings)
    for string, change_mm in order.get(key, {}).items():
        changes[_number(int(string), strings, "string") - 1] = float(change_mm)
    return changes
