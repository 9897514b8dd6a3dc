"""What a person can mistype: one clear line each, exit code 2, and nothing done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from daq.cli.main import main

Type = Callable[..., Any]

MISTYPED = {
    "an unknown command": ("frobnicate", "No such command 'frobnicate'"),
    "a command with letters exchanged": ("scna good", "Did you mean 'scan'?"),
    "an unknown command of a group": ("job delete good", "No such command 'delete'"),
    "a group without its command": ("rig", "Missing command"),
    "an unknown option": ("tops good --stat strung", "No such option: --stat"),
    "an option without its value": ("plan good --keep", "'--keep' requires an argument"),
    "a missing argument": ("scan --rig {rig} --state strung", "Missing argument 'NAME'"),
    "a missing option": ("scan good --state strung", "Missing option '--rig'"),
    "one argument too many": ("compare good bad", "unexpected extra argument"),
    "a seed that is no number": ("demo --seed many", "--seed"),
    "a seed below nothing": ("demo --seed -1", "--seed"),
    "a state there is not": ("scan good --rig {rig} --state slack", "allowed strung or unstrung"),
    "no state": ("tops good", "--state: missing; allowed strung or unstrung"),
    "a thing to keep that is none": ("plan good --keep frets", "allowed rod, nut, saddles"),
    "two things to keep in one": ("plan good --keep rod,nut", "found 'rod,nut'"),
    "a reference that is none": (
        "calibrate rail --rig {rig} --reference ruler",
        "found 'ruler'; allowed straightedge",
    ),
    "a straightedge that is not known": (
        "calibrate rail --rig {rig} --straightedge-um nan",
        "allowed 0 to 100 µm",
    ),
    "a playing profile there is not": ("plan good --playing wild", "gentle, everyday, hard"),
    "a job that is not open": ("compare walnut", "the jobs there are: edge, empty, good"),
    "a job's name with a slash": ("job new a/b --instrument {instrument}", "job name: found 'a/b'"),
    "a job's name that climbs": ("tops ../good --state strung", "job name: found '../good'"),
    "a job that is open already": (
        "job new good --instrument {instrument}",
        "found a job of that name already",
    ),
    "an instrument file for a job": (
        "tops good --state strung --instrument {instrument}",
        "a job has its own instrument file",
    ),
    "no instrument file for a scan": ("tops {strung}", "--instrument FILE.yaml is missing"),
    "the other state than the scan's": (
        "tops {strung} --instrument {instrument} --state unstrung",
        "found strung; allowed --state strung",
    ),
    "a demo over a demo": ("demo --folder {folder}", "holds a demo already"),
    "a replay onto its own scan": ("replay {strung} --to {strung}", "never written over"),
}


@pytest.mark.parametrize(("line", "says"), MISTYPED.values(), ids=MISTYPED)
def test_a_slip_is_one_line(shop: Any, type_in: Type, line: str, says: str) -> None:
    before = sorted(shop.folder.rglob("*"))
    done = type_in(shop, line)
    assert done.code == 2
    assert done.faults == done.err.splitlines()
    assert len(done.faults) == 1
    assert says in done.faults[0]
    assert done.out == ""
    assert sorted(shop.folder.rglob("*")) == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--workshop"], "'--workshop' requires an argument"),
        (["--workshop", "", "compare", "a"], "--workshop: found nothing"),
        (["--workshop", __file__, "compare", "a"], "found a file; allowed a folder"),
        (["--colour"], "No such option: --colour"),
    ],
)
def test_a_slip_before_the_command(
    capfd: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    assert main(words) == 2
    out, err = capfd.readouterr()
    assert out == ""
    assert err.startswith("neckform: ")
    assert err.count("\n") == 1
    assert says in err


def test_the_line_says_where_to_read_on(shop: Any, type_in: Type) -> None:
    assert type_in(shop, "job new").faults[0].endswith("see `neckform job new --help`")


COMMANDS = {
    "": ["--workshop"],
    "demo": ["--folder", "--seed", "--json"],
    "rig check": ["RIG.yaml", "--json"],
    "calibrate rail": ["--rig", "--reference", "--json", "--yes"],
    "calibrate lag": ["--rig", "--json", "--yes"],
    "job new": ["NAME", "--instrument", "--json"],
    "scan": ["NAME", "--rig", "--state", "--label", "--rod", "--json", "--yes"],
    "rod": ["NAME", "--json"],
    "tops": ["NAME", "SCAN.h5", "--state", "--instrument", "--json"],
    "compare": ["NAME", "--json"],
    "plan": ["NAME", "--playing", "--keep", "--json"],
    "verify": ["NAME", "--json"],
    "report": ["NAME", "--sheet", "--to", "--json"],
    "law": ["--tool", "--metal", "--json"],
    "archive index": ["FOLDER", "--archive", "--json"],
    "archive find": ["[WORDS]...", "--job", "--from", "--faulty", "--limit", "--json"],
    "archive years": ["--instrument", "--rig", "--to", "--json"],
    "replay": ["SCAN.h5", "--to", "FILE.h5", "--json"],
    "recover": ["DIR", "--json"],
}


@pytest.mark.parametrize("command", COMMANDS)
def test_help(capfd: pytest.CaptureFixture[str], command: str) -> None:
    assert main([*command.split(), "--help"]) == 0
    out, err = capfd.readouterr()
    assert f"Usage: neckform {command}".rstrip() in out
    assert err == ""
    for word in COMMANDS[command]:
        assert word in out


def test_no_words_at_all_show_the_help(capfd: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    out, _ = capfd.readouterr()
    for command in COMMANDS:
        assert command.split(" ")[0] in out
