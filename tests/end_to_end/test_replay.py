"""Replay: the recorded bytes through the decode path again, to the same scan."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest

from daq.record.raw import records_of

Type = Callable[..., Any]


def content(path: Any) -> dict[str, Any]:
    """Every dataset by its name; a dataset that is a link to another is there under both."""
    found: dict[str, Any] = {}
    with h5py.File(path) as file:
        file.visititems(
            lambda name, item: (
                found.update({name: item[()]}) if isinstance(item, h5py.Dataset) else None
            )
        )
    return found


@pytest.mark.parametrize("scan", ["strung", "rail"])
def test_a_replay_equals_its_original(shop: Any, type_in: Type, scan: str) -> None:
    done = type_in(shop, f"replay {{{scan}}} --to {{folder}}/again.h5 --json")
    assert done.code == 0
    assert done.faults == []
    original = Path(shop.words(f"{{{scan}}}")[-1])
    again = shop.folder / "again.h5"
    assert json.loads(done.out)["scan"] == str(again)
    before, after = content(original), content(again)
    assert before.keys() == after.keys()
    for name, value in before.items():
        np.testing.assert_array_equal(value, after[name], err_msg=name)
    assert list(records_of(again)) == list(records_of(original))


def test_a_replay_gives_the_same_tops(shop: Any, type_in: Type) -> None:
    type_in(shop, "replay {unstrung} --to {folder}/002-unstrung.h5")
    lines = (
        "tops {unstrung} --instrument {instrument} --json",
        "tops {folder}/002-unstrung.h5 --instrument {instrument} --json",
    )
    first, second = (json.loads(type_in(shop, line).out) for line in lines)
    assert first == second


def test_nothing_is_written_over(shop: Any, type_in: Type) -> None:
    before = shop.scan("002-unstrung").read_bytes()
    done = type_in(shop, "replay {strung} --to {unstrung}")
    assert done.code == 2
    assert len(done.faults) == 1
    assert shop.scan("002-unstrung").read_bytes() == before
