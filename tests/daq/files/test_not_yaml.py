"""Texts that are no YAML, or more YAML than a file of settings needs: one line each."""

from __future__ import annotations

import pytest

from daq.errors import InputError
from daq.files.located import locate
from daq.files.rig import parse_rig


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "a:\n  b: 1\n c: 2\n",
            "f:3: found a line that does not line up; allowed the keys of one group indented alike",
        ),
        (
            "a: b\n c: d\n",
            "f:2: found a key that does not line up, or a colon too many; allowed the keys of one "
            "group indented alike, a space after `:`, a text with a colon in quotes",
        ),
        ("a:\n\tb: 1\n", "f:2: found a tab; allowed spaces only, before a key"),
        (
            "a: 1\nb\nc: 2\n",
            "f:2: found a line without a key; allowed `key: value`, a space after `:`",
        ),
        (
            "a: [1, 2\nb: 2\n",
            "f:1: found a bracket that is not closed; allowed […] and {…} with commas between",
        ),
        (
            "a: 1\nb: 'x\n\nc: 1\n",
            "f:2: found a quote that is not closed; allowed a closing quote",
        ),
        (
            "a: 1\n---\nb: 2\n",
            "f:2: found a second document (`---`); allowed one document in a file",
        ),
        (
            "a: 1\nb: @x\n",
            "f:2: found a text beginning with a character YAML keeps for itself; "
            "allowed that text in quotes",
        ),
        (
            "a: &x [*x]\n",
            "f:1: found an anchor or alias (& or *); allowed the value itself; quote a text",
        ),
        (
            "\na: *x\n",
            "f:2: found an anchor or alias (& or *); allowed the value itself; quote a text",
        ),
        (
            "a: !!python/name:os.system x\n",
            "f:1: found a tag (!); allowed the value itself; quote a text",
        ),
        ("a: " + "[" * 5000, "f:1: found more than 12 groups inside each other; allowed fewer"),
        (
            'a: 1\nb: "\\UFFFFFFFF"\n',
            "f:2: found an escape that is no character; allowed plain text",
        ),
        ("a: 1\nb: \x01\n", "f:2: found a control character ('\\x01'); allowed plain text"),
    ],
)
def test_one_line_with_its_number(text: str, line: str) -> None:
    with pytest.raises(InputError) as caught:
        locate(text, "f")

    assert str(caught.value) == line


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", "nothing"),
        ("# only a remark\n", "nothing"),
        ("- 1\n- 2\n", "a list of 2"),
        ("garage rail\n", "text 'garage rail'"),
        ("42\n", "42"),
    ],
)
def test_a_file_that_is_no_group_of_keys(text: str, found: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_rig(text, "f")

    assert str(caught.value) == (
        f"f:1: found {found}; allowed a group of keys: name, links, carriage, sensor, pads"
    )
