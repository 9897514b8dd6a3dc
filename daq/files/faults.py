"""One fault in a file a person wrote, and how it is put into words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

KeyPath = tuple[int | str, ...]
LONGEST_SHOWN = 48


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong at one key. `line` is set only where the key's own line is not the one."""

    path: KeyPath
    found: str
    allowed: str
    hint: str = ""
    line: int | None = None

    def text(self) -> str:
        """`key.path: found …; allowed …; hint`, without file and line."""
        parts = [f"found {self.found}", f"allowed {self.allowed}"]
        if self.hint:
            parts.append(self.hint)
        said = "; ".join(parts)
        return f"{path_text(self.path)}: {said}" if self.path else said


def path_text(path: KeyPath) -> str:
    """`links.rig.port`, `strings[1].note`: list entries count from 1, as strings do."""
    words: list[str] = []
    for step in path:
        if isinstance(step, int):
            words.append(f"[{step}]" if words else f"{step}")
        else:
            words.append(f".{_key(step)}" if words else _key(step))
    return "".join(words)


def describe(value: object) -> str:
    """A value as it is shown after `found`; always one line, never long."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"{value!r}"
    if isinstance(value, str):
        return f"text {_short(value)}"
    if isinstance(value, tuple):
        return f"a list of {len(value)}"
    if isinstance(value, Mapping):
        return f"a group of keys ({', '.join(_key(str(key)) for key in list(value)[:4])})"
    return type(value).__name__


def nearest(word: str, known: Iterable[str]) -> str:
    """`did you mean …?`, or nothing where no known word is near."""
    words = list(known)
    begun = [long for long in words if len(word) >= 3 and long.startswith(word)]
    close = get_close_matches(word, words, n=1, cutoff=0.6) or begun
    return f"did you mean {close[0]}?" if close else ""


def _key(key: str) -> str:
    plain = key.isprintable() and key.strip() == key and key and len(key) <= LONGEST_SHOWN
    return key if plain else _short(key)


def _short(text: str) -> str:
    cut = text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "…"
    # repr and not the text itself: a line break or a control character must not reach the line
    return repr(cut)
