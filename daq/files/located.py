"""YAML text to plain data that remembers the line of every key.

The node tree of `yaml.compose` is read here instead of `yaml.safe_load`: nodes know their lines,
and repeated keys are still there to be seen. Scalars follow the YAML 1.2 core schema, so `1:30`
is no number of seconds and `no` no truth value.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import yaml

from daq.errors import InputError
from daq.files.faults import Fault, KeyPath
from daq.files.syntax import NotYaml, compose

WHOLE = re.compile(r"[-+]?[0-9]{1,18}")
DECIMAL = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
CONSTANTS = {"": None, "~": None, "null": None, "true": True, "false": False}


@dataclass(slots=True)
class Located:
    """data: mappings as dict (keys int or str), lists as tuple, scalars; lines count from 1."""

    data: object = None
    lines: dict[KeyPath, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def known_part(self, path: KeyPath) -> KeyPath:
        """The longest beginning of a path that stands in the file."""
        while path and path not in self.lines:
            path = path[:-1]
        return path

    def line(self, path: KeyPath) -> int:
        """The line of a key, or of the nearest group around it."""
        return self.lines.get(self.known_part(path), 1)


def locate(text: str, name: str) -> Located:
    """Read YAML text.

    name: the file's name, for messages.
    Repeated keys are in `.faults`, the first of them kept in `.data`.
    Raises InputError, one line, where the text is not YAML at all.
    """
    located = Located()
    try:
        node = compose(text)
    except NotYaml as fault:
        raise InputError(f"{name}:{fault}") from None
    if node is not None:
        located.lines[()] = node.start_mark.line + 1
        located.data = _value(node, (), located)
    return located


def located_data(data: object) -> Located:
    """Data that stood in no file: maps and lists as JSON has them, all on line 1."""
    located = Located(lines={(): 1})
    located.data = _placed(data, (), located)
    return located


def _placed(value: object, path: KeyPath, located: Located) -> object:
    if isinstance(value, Mapping):
        pairs = [(_key(str(key)), inner) for key, inner in value.items()]
    elif isinstance(value, (list, tuple)):
        pairs = list(enumerate(value, start=1))
    else:
        return value
    located.lines.update(((*path, key), 1) for key, _ in pairs)
    inside = [(key, _placed(inner, (*path, key), located)) for key, inner in pairs]
    return dict(inside) if isinstance(value, Mapping) else tuple(one for _, one in inside)


def _value(node: yaml.Node, path: KeyPath, located: Located) -> object:
    if isinstance(node, yaml.MappingNode):
        return _mapping(node, path, located)
    if isinstance(node, yaml.SequenceNode):
        return _sequence(node, path, located)
    return _scalar(node)


def _mapping(node: yaml.MappingNode, path: KeyPath, located: Located) -> dict[int | str, object]:
    data: dict[int | str, object] = {}
    for key_node, value_node in node.value:
        line = key_node.start_mark.line + 1
        if not isinstance(key_node, yaml.ScalarNode):
            located.faults.append(
                Fault(path, "a group or list as a key", "one word or number as a key", line=line)
            )
            continue
        key = _key(key_node.value)
        here = (*path, key)
        if here in located.lines:
            first = located.lines[here]
            located.faults.append(
                Fault(here, f"a second time, first on line {first}", "once", line=line)
            )
            continue
        located.lines[here] = line
        data[key] = _value(value_node, here, located)
    return data


def _sequence(node: yaml.SequenceNode, path: KeyPath, located: Located) -> tuple[object, ...]:
    items: list[object] = []
    for number, item in enumerate(node.value, start=1):
        here = (*path, number)
        located.lines[here] = item.start_mark.line + 1
        items.append(_value(item, here, located))
    return tuple(items)


def _key(text: str) -> int | str:
    # a quoted number is a number too: JSON, where keys are always text, can be pasted in
    return int(text) if re.fullmatch(r"[0-9]{1,6}", text) else text


def _scalar(node: yaml.Node) -> object:
    text = str(node.value)
    if node.style is not None:  # type: ignore[attr-defined]
        return text
    if text.lower() in CONSTANTS:
        return CONSTANTS[text.lower()]
    if WHOLE.fullmatch(text):
        return int(text)
    return float(text) if DECIMAL.fullmatch(text) else text
