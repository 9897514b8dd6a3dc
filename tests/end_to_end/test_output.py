"""Where output goes: one document on standard output, people's words beside it."""

from __future__ import annotations

import json
import os
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Type = Callable[..., Any]

DOCUMENTS = {
    "job new late --instrument {instrument}": (0, {"job", "folder"}),
    "tops good --state strung": (0, {"frets", "relief", "twist_mrad", "board_radius_mm", "along"}),
    "tops good --state unstrung": (0, {"frets", "relief", "twist_mrad", "along", "across"}),
    "tops {unstrung} --instrument {instrument}": (0, {"frets", "relief"}),
    "compare good": (0, {"relief", "movement"}),
    "plan good": (0, {"feasible", "rod", "saddles", "nut", "cuts", "margins", "metal"}),
    "report good": (0, {"report"}),
    "replay {strung} --to {folder}/new.h5": (0, {"scan", "passes"}),
    "recover": (0, {"recovered"}),
}


@pytest.mark.parametrize(("line", "answer"), DOCUMENTS.items(), ids=DOCUMENTS)
def test_one_document(shop: Any, type_in: Type, line: str, answer: tuple[int, set[str]]) -> None:
    code, keys = answer
    done = type_in(shop, line, "--json")
    assert done.code == code
    assert done.faults == []
    assert done.out.endswith("}\n")
    assert keys <= set(json.loads(done.out))


def test_a_plan_that_cannot_be_is_a_document_too(shop: Any, type_in: Type) -> None:
    keep = "plan good --playing hard --keep rod --keep nut --keep saddles --json"
    done = type_in(shop, keep)
    assert done.code == 1
    assert done.faults == []
    assert json.loads(done.out)["feasible"] is False


def test_tops_tell_heights_relief_along_and_across_in_this_order(shop: Any, type_in: Type) -> None:
    told = type_in(shop, "tops good --state unstrung").out
    titles = ("Fret heights", "Relief, unstrung", "Along, unstrung", "Across, unstrung")
    places = [told.index(title) for title in titles]
    assert places == sorted(places)
    assert "by the scan, the" in " ".join(told.split())


def test_people_read_standard_output_without_json(shop: Any, type_in: Type) -> None:
    done = type_in(shop, "recover")
    assert "Nothing was left behind" in done.out
    assert done.err == ""


def test_a_rig_s_commands(live: Any, type_in: Type) -> None:
    health = type_in(live, "rig check {rig} --json")
    assert health.code == 0
    assert json.loads(health.out)["rate_hz"] == pytest.approx(400, rel=0.01)
    assert "is fit to scan" in health.err
    assert "The carriage is about to move" in health.err
    assert json.loads((live.folder / "rail.json").read_text())


def test_a_reader_that_goes_early(shop: Any, program: list[str]) -> None:
    """As `| head -1` does. The plan is made and kept all the same."""
    with subprocess.Popen(
        [*program, *shop.words("plan good")],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        err = process.stderr.read()
    assert process.returncode == 0
    assert err == b""
    assert (shop.job("good") / "plans/001.json").exists()


def test_a_log_that_closes_does_not_end_a_scan(live: Any, program: list[str]) -> None:
    with subprocess.Popen(
        [*program, *live.words("scan empty --rig {rig} --state strung --json")],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stderr.close()
        document = json.loads(process.stdout.read())
    assert process.returncode == 0
    assert document["end"] == "done"


@pytest.mark.parametrize("closed", ["2>&-", "<&- >&- 2>&-"])
def test_closed_streams(shop: Any, program: list[str], run: Type, closed: str) -> None:
    words = shop.words("recover --json")
    done = run(["sh", "-c", f'exec "$@" {closed}', "sh", *program], words)
    assert done.code == 0
    assert "Traceback" not in done.err
    if ">&-" not in closed.replace("2>&-", ""):
        assert json.loads(done.out) == {"recovered": []}


def test_standard_output_that_takes_nothing(shop: Any, program: list[str]) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*program, *shop.words("recover --json")],
            stdin=subprocess.DEVNULL,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 3
    faults = [line for line in done.stderr.splitlines() if line.startswith("neckform: ")]
    assert len(faults) == 1
    assert "No space left on device" in faults[0]


def test_a_terminal_that_knows_no_signs(shop: Any, program: list[str], run: Type) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = run(program, shop.words("compare good"), env=environment)
    assert done.code == 0
    assert "Relief under the strings' pull" in done.out
    assert done.err == ""


@pytest.mark.parametrize("no_color", [True, False])
def test_colours(shop: Any, program: list[str], no_color: bool) -> None:
    """Colours in a terminal, none with NO_COLOR; an infeasible plan is told in red."""
    words = shop.words("plan good --playing hard --keep rod --keep nut --keep saddles")
    environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    environment |= {"TERM": "xterm-256color", **({"NO_COLOR": "1"} if no_color else {})}
    terminal, end = os.openpty()
    with subprocess.Popen([*program, *words], stdin=end, stdout=end, stderr=end, env=environment):
        os.close(end)
        shown = "".join(iter(lambda: more(terminal), ""))
    os.close(terminal)
    coloured = re.search(r"\x1b\[[0-9;]*3[0-7]", shown) is not None
    assert coloured is not no_color


def more(source: int) -> str:
    """A terminal whose last user has gone raises where a pipe ends."""
    try:
        return os.read(source, 65_536).decode("utf-8", "replace")
    except OSError:
        return ""


def test_the_workshop_of_the_environment(shop: Any, program: list[str], run: Type) -> None:
    environment = {**os.environ, "NECKFORM_WORKSHOP": str(shop.root)}
    done = run(program, ["tops", "--state", "strung", "walnut"], env=environment)
    assert done.code == 2
    assert f"found no such job in {shop.root}" in done.faults[0]


def test_the_option_comes_before_the_environment(
    shop: Any, type_in: Type, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NECKFORM_WORKSHOP", "/nowhere")
    assert type_in(shop, "recover").code == 0


UNWRITABLE = {
    "job new late --instrument {instrument}": "jobs",
    "plan good": "jobs/good/plans",
    "report good": "jobs/good",
    "scan good --rig {rig} --state strung": "jobs/good/scans",
}


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
@pytest.mark.parametrize(("line", "folder"), UNWRITABLE.items(), ids=UNWRITABLE)
def test_a_workshop_that_may_not_be_written(
    shop: Any, type_in: Type, line: str, folder: str
) -> None:
    (shop.root / folder).mkdir(exist_ok=True)
    (shop.root / folder).chmod(0o555)
    try:
        done = type_in(shop, line)
    finally:
        (shop.root / folder).chmod(0o755)
    assert done.code == 3
    assert len(done.faults) == 1


def test_a_workshop_where_no_folder_can_be(shop: Any, type_in: Type) -> None:
    """As a folder nobody may write to, and it holds for the superuser as well."""
    (shop.job("good") / "plans").write_text("in the way")
    done = type_in(shop, "plan good")
    assert done.code == 3
    assert len(done.faults) == 1
    assert "could not be written" in done.faults[0]
    (shop.folder / "file").write_text("")
    other = type_in(shop, "--workshop {folder}/file/below job new late --instrument {instrument}")
    assert other.code == 3
    assert len(other.faults) == 1
    assert "Not a directory" in other.faults[0]
