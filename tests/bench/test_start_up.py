"""What a command imports before it does anything: looked at in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest
import typer

from daq.cli import archive, calibrate
from daq.cli.main import COMMANDS, app

#: What takes a tenth of a second or more, or belongs to a rig, a daemon or a plan.
HEAVY = {
    "fastapi", "h5py", "highspy", "pymodbus", "scipy", "serial", "uvicorn",
}  # fmt: skip
#: Files a person writes are checked with these.
FILES = {"numpy", "pydantic", "yaml", "rich"}
#: Half a second between them: nothing that is run each time needs them.
SLOW_PARTS = {"scipy.signal", "scipy.stats"}
LOOK = """
import contextlib, io, json, sys

from daq.cli.main import main

with contextlib.redirect_stdout(io.StringIO()):
    code = main(json.loads(sys.argv[1]))
print(json.dumps([code, sorted(sys.modules)]))
"""


@pytest.mark.parametrize(
    ("line", "never"),
    [
        ("--help", HEAVY | FILES),
        ("calibrate --help", HEAVY | FILES - {"pydantic"}),
        ("job new --help", HEAVY),
        ("archive --help", HEAVY | FILES - {"pydantic"}),
        ("archive find --archive /nowhere", HEAVY),
        ("law --help", HEAVY),
        ("recover --help", {"fastapi", "highspy", "serial", "uvicorn"}),
        ("report --help", {"fastapi", "serial", "uvicorn"}),
        ("tops --help", {"fastapi", "highspy", "serial", "uvicorn"}),
        ("compare --help", {"fastapi", "highspy", "serial", "uvicorn"}),
        ("rig check --help", {"fastapi", "highspy", "uvicorn"}),
        ("plan --help", {"fastapi", "serial", "uvicorn"}),
    ],
)
def test_a_command_imports_what_it_needs(line: str, never: set[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOOK, json.dumps(line.split())],
        capture_output=True,
        text=True,
        check=True,
    )
    code, imported = json.loads(done.stdout)
    assert code == (2 if line.endswith("nowhere") else 0)
    assert sorted((never | SLOW_PARTS) & set(imported)) == []


@pytest.mark.parametrize(
    ("group", "told"),
    [(app, COMMANDS), (calibrate.app, calibrate.KINDS), (archive.app, archive.COMMANDS)],
    ids=["all", "kinds", "archive"],
)
def test_the_help_page_says_what_the_commands_say_of_themselves(
    group: typer.Typer, told: dict[str, object]
) -> None:
    commands = typer.main.get_group(group).commands
    assert list(commands) == list(told)
    for name, later in told.items():
        assert commands.get(name).get_short_help_str(300) == later.says
