"""Text to a YAML node tree, and PyYAML's complaints in words a person can use."""

from __future__ import annotations

import yaml

DEEPEST = 12
# part of PyYAML's own wording -> (what was found, what is allowed, whether the fault is where the
# thing began rather than where the parser gave up)
COMPLAINTS = (
    ("character '\\t'", "a tab", "spaces only, before a key", False),
    (
        "mapping values are not allowed",
        "a key that does not line up, or a colon too many",
        "the keys of one group indented alike, a space after `:`, a text with a colon in quotes",
        False,
    ),
    (
        "expected <block end>",
        "a line that does not line up",
        "the keys of one group indented alike",
        False,
    ),
    (
        "could not find expected ':'",
        "a line without a key",
        "`key: value`, a space after `:`",
        True,
    ),
    ("expected ',' or", "a bracket that is not closed", "[…] and {…} with commas between", True),
    ("unexpected end of stream", "a quote that is not closed", "a closing quote", True),
    (
        "cannot start any token",
        "a text beginning with a character YAML keeps for itself",
        "that text in quotes",
        False,
    ),
    ("expected a single document", "a second document (`---`)", "one document in a file", False),
)


class NotYaml(Exception):
    """`LINE: found …; allowed …`"""

    def __init__(self, line: int, found: str, allowed: str) -> None:
        super().__init__(f"{line}: found {found}; allowed {allowed}")


class _Loader(yaml.SafeLoader):
    """SafeLoader without what a file of settings has no use for, and a bound on its depth.

    Anchors, aliases and tags could make small files endless; depth could exhaust the stack.
    """

    depth = 0

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        event = self.peek_event()  # type: ignore[no-untyped-call]
        line = event.start_mark.line + 1
        if getattr(event, "anchor", None) is not None:
            raise NotYaml(line, "an anchor or alias (& or *)", "the value itself; quote a text")
        if getattr(event, "tag", None) is not None:
            raise NotYaml(line, "a tag (!)", "the value itself; quote a text")
        if self.depth >= DEEPEST:
            raise NotYaml(line, f"more than {DEEPEST} groups inside each other", "fewer")
        self.depth += 1
        node: yaml.Node | None = super().compose_node(parent, index)
        self.depth -= 1
        return node


def compose(text: str) -> yaml.Node | None:
    """The node tree, None for an empty text. Raises NotYaml."""
    try:
        loader = _Loader(text)
    except yaml.reader.ReaderError as error:
        raise _unprintable(text, error.position) from None
    try:
        node: yaml.Node | None = loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        raise _in_words(error) from None
    except yaml.reader.ReaderError as error:
        raise _unprintable(text, error.position) from None
    except (ValueError, OverflowError):
        # PyYAML passes on Python's own error for an escape such as "\UFFFFFFFF"
        raise NotYaml(loader.line + 1, "an escape that is no character", "plain text") from None
    finally:
        loader.dispose()
    return node


def _unprintable(text: str, position: int) -> NotYaml:
    line = text.count("\n", 0, position) + 1
    character = text[position : position + 1]
    return NotYaml(line, f"a control character ({character!a})", "plain text")


def _in_words(error: yaml.MarkedYAMLError) -> NotYaml:
    problem = f"{error.context or ''} {error.problem or ''}".strip()
    where = error.problem_mark or error.context_mark
    for part, found, allowed, at_beginning in COMPLAINTS:
        if part in problem:
            mark = (error.context_mark if at_beginning else None) or where
            return NotYaml(_line(mark), found, allowed)
    return NotYaml(_line(where), f"bad YAML ({' '.join(problem.split())})", "valid YAML")


def _line(mark: yaml.Mark | None) -> int:
    return mark.line + 1 if mark is not None else 1
