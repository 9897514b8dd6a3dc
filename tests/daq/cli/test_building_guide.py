"""The builder's guide keeps to the program: its commands, its links, the words it quotes."""

from __future__ import annotations

import ast
import re
import shlex
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
import typer

from daq.cli.main import app
from daq.figures.palette import LIGHT, SHEET

ROOT = Path(__file__).parents[3]
CONFIGS = ROOT / "rig_configs"
PAGES = ("building-a-rig.md", "wiring-a-rig.md", "first-scan.md", "rig-symptoms.md")
DRAWINGS = sorted((CONFIGS / "drawings").glob("*.svg"))
FIELD = "…"
SVG = "{http://www.w3.org/2000/svg}"


def text_of(page: str) -> str:
    return (CONFIGS / page).read_text("utf-8")


def commands() -> Iterator[tuple[str, str]]:
    """Every `neckform ...` line of a page: in backticks, or on a line of its own."""
    for page in PAGES:
        text = text_of(page)
        joined = re.sub(r"\n\s*", " ", text)
        found = re.findall(r"`(neckform [^`]+)`", joined) + re.findall(r"(?m)^(neckform .+)$", text)
        for line in dict.fromkeys(found):
            yield page, line


@pytest.mark.parametrize(("page", "line"), list(commands()))
def test_every_command_is_one(page: str, line: str) -> None:
    words = shlex.split(line, comments=True)[1:]
    command = typer.main.get_command(app)
    context = command.make_context("neckform", [], resilient_parsing=True)
    while words and hasattr(command, "get_command") and not words[0].startswith("-"):
        found = command.get_command(context, words[0])
        assert found is not None, f"{page}: `{line}`: there is no {words[0]}"
        command, words = found, words[1:]
        context = command.make_context(command.name, [], parent=context, resilient_parsing=True)
    named = {name for param in command.params for name in (*param.opts, *param.secondary_opts)}
    asked = [word.partition("=")[0] for word in words if word.startswith("--")]
    assert set(asked) <= named, f"{page}: `{line}`: has no {set(asked) - named}"
    if words:  # whole, as it is typed: values too, and nothing left over
        command.make_context(command.name, list(words), parent=context)


@pytest.mark.parametrize("page", PAGES)
def test_every_link_leads_somewhere(page: str) -> None:
    links = re.findall(r"\]\(([^)\s]+)\)", text_of(page))
    assert links
    missing = [link for link in links if not (CONFIGS / link.partition("#")[0]).is_file()]
    assert not missing


def test_every_drawing_is_shown() -> None:
    shown = "".join(text_of(page) for page in PAGES)
    assert DRAWINGS
    assert not [path.name for path in DRAWINGS if f"(drawings/{path.name})" not in shown]


@cache
def said_in_code() -> tuple[str, ...]:
    """Every string of the program as it is written, each field of one as …"""
    said = []
    for room in ("daq", "calibration", "analysis"):
        for path in sorted((ROOT / room).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.JoinedStr):
                    parts = (
                        part.value if isinstance(part, ast.Constant) else FIELD
                        for part in node.values
                    )
                    said.append("".join(map(str, parts)))
                elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                    said.append(node.value)
    return tuple(said)


def quotes() -> Iterator[str]:
    """What stands in backticks in the first column of the tables of what the program says."""
    told = False
    for line in text_of("rig-symptoms.md").splitlines():
        if line.startswith("#") or not line.strip():
            told = False
        elif line.startswith("| the program says"):
            told = True
        elif told:
            yield from re.findall(r"`([^`]+)`", line.split(" | ")[0])


@pytest.mark.parametrize("quote", [*quotes(), "push on", "a little slower"])
def test_every_quoted_word_is_said(quote: str) -> None:
    assert any(quote in said for said in said_in_code())


def test_what_a_quote_is_looked_for_in() -> None:
    assert len(list(quotes())) > 50
    assert not any("the carriage counts the right way round" in said for said in said_in_code())


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_a_drawing_is_described_and_in_the_palette(path: Path) -> None:
    drawn = ElementTree.parse(path).getroot()
    title, desc = drawn.find(f"{SVG}title"), drawn.find(f"{SVG}desc")
    assert title is not None
    assert title.text
    assert desc is not None
    assert len(desc.text or "") > 100
    assert (drawn.get("role"), drawn.get("aria-labelledby")) == ("img", "title desc")
    text = path.read_text("utf-8")
    assert set(re.findall(r"#[0-9a-f]{6}", text)) <= {*LIGHT.values(), SHEET}
    ground = drawn.find(f"{SVG}rect")
    assert ground is not None
    assert ground.get("class") == "paper"
    assert f".paper {{ fill: {LIGHT['paper']} }}" in text
    assert drawn.get("viewBox") == f"0 0 {ground.get('width')} {ground.get('height')}"


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_a_drawing_is_large_enough_to_read(path: Path) -> None:
    style = path.read_text("utf-8").partition("<style>")[2].partition("</style>")[0]
    sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)px", style)]
    assert min(sizes) >= 13
    used = set(re.findall(r'class="([^"]+)"', path.read_text("utf-8")))
    known = set(re.findall(r"\.([a-z]+) \{", style))
    assert {name for names in used for name in names.split()} <= known
