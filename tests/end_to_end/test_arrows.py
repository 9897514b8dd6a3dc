"""The arrows between the rooms are held by import-linter; here, that no room is left out."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def contracts() -> list[dict[str, Any]]:
    read = tomllib.loads((HERE / "pyproject.toml").read_text(encoding="utf-8"))
    return list(read["tool"]["importlinter"]["contracts"])


def rooms() -> set[str]:
    """Every package and module at the top of the shell."""
    daq = HERE / "daq"
    packages = {f"daq.{path.parent.name}" for path in daq.glob("*/__init__.py")}
    return packages | {f"daq.{path.stem}" for path in daq.glob("*.py") if path.stem != "__init__"}


@pytest.mark.parametrize(
    ("named", "key", "free"),
    [
        ("the simulator knows the wire's encoder", "forbidden_modules", "daq.wire"),
        ("only the link knows", "source_modules", "daq.link"),
        ("only the record room knows", "source_modules", "daq.record"),
        ("only the archive knows", "source_modules", "daq.archive"),
    ],
)
def test_every_room_is_listed(
    contracts: list[dict[str, Any]], named: str, key: str, free: str
) -> None:
    (contract,) = [one for one in contracts if one["name"].startswith(named)]
    listed = {name for name in contract[key] if name.startswith("daq.")}
    assert listed == rooms() - {free}
