"""Two instruments of one kind, mixed up: scans of both in one job."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from typing import Any

import pytest

from daq.cli.main import main
from daq.demo.bench import software_rig

Type = Callable[..., Any]


@pytest.fixture
def mixed(shop: Any) -> Any:
    """Jobs `mixed` and `filed`: another neck's unstrung scan after the good job's strung one, or
    after a whole pair of its scans, where a file might have been at work since."""
    folder = shop.folder / "another"
    with software_rig(6) as bench:
        bench.do("files", folder=str(folder))
        bench.do("place", what="neck")
        bench.do("state", state="unstrung")
        for name in ("another", "mixed", "filed"):
            assert main(shop.words(f"job new {name} --instrument {{instrument}}")) == 0
        rig = folder / "rig.yaml"
        assert main(shop.words(f"scan another --rig {rig} --state unstrung")) == 0
    other = shop.scan("001-unstrung", "another")
    for job in ("mixed", "filed"):
        shop.scan("001-strung", job).parent.mkdir(exist_ok=True)
        for strung in ("001-strung",) if job == "mixed" else ("001-strung", "003-strung"):
            shutil.copy(shop.scan("001-strung"), shop.scan(strung, job))
    shutil.copy(other, shop.scan("002-unstrung", "mixed"))
    shutil.copy(shop.scan("002-unstrung"), shop.scan("002-unstrung", "filed"))
    shutil.copy(other, shop.scan("004-unstrung", "filed"))
    return shop


def test_another_neck_is_refused(mixed: Any, type_in: Type) -> None:
    for line in ("compare mixed", "plan mixed", "tops mixed --state strung"):
        done = type_in(mixed, line)
        assert done.code == 2
        assert done.faults == done.err.splitlines()
        assert "001-strung.h5 and " in done.faults[0]
        assert "these two scans do not show the same neck" in done.faults[0]
    done = type_in(mixed, "compare filed")
    assert done.code == 2
    assert "002-unstrung.h5 and " in done.faults[0]
    assert "these two scans do not show the same neck" in done.faults[0]


def test_one_neck_in_both_states_has_no_findings(shop: Any, type_in: Type) -> None:
    done = type_in(shop, "compare good --json")
    assert done.code == 0
    answer = json.loads(done.out)
    assert answer["findings"] == []
    assert answer["scatter"] < 1.5
