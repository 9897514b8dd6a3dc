"""YAML to data with lines."""

from __future__ import annotations

import pytest

from daq.files.faults import Fault
from daq.files.located import locate


def test_data_and_the_line_of_every_key_and_entry() -> None:
    located = locate("a: 1\nb:\n  c: [2, 3]\n  d:\n    - x\n    - {e: 5}\n", "f")

    assert located.data == {"a": 1, "b": {"c": (2, 3), "d": ("x", {"e": 5})}}
    assert located.lines == {
        (): 1,
        ("a",): 1,
        ("b",): 2,
        ("b", "c"): 3,
        ("b", "c", 1): 3,
        ("b", "c", 2): 3,
        ("b", "d"): 4,
        ("b", "d", 1): 5,
        ("b", "d", 2): 6,
        ("b", "d", 2, "e"): 6,
    }


def test_a_missing_keys_line_is_its_groups() -> None:
    located = locate("a: 1\nb:\n  c: 2\n", "f")

    assert located.line(("b", "missing", "deeper")) == 2
    assert located.line(("missing",)) == 1


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1:30", "1:30"),
        ("no", "no"),
        ("2024-13-45", "2024-13-45"),
        ("0x10", "0x10"),
        ("1_000", "1_000"),
        ("1e-3", 0.001),
        ("-5", -5),
        (".5", 0.5),
        ("5.", 5.0),
        ("~", None),
        ("True", True),
        ('"1"', "1"),
        (".inf", ".inf"),
    ],
)
def test_scalars_mean_what_they_look_like(text: str, value: object) -> None:
    found = locate(f"a: {text}", "f").data

    assert found == {"a": value}
    assert isinstance(found, dict)
    assert type(found["a"]) is type(value)


def test_a_number_of_thousands_of_digits_is_no_trouble() -> None:
    assert locate("a: " + "9" * 9000, "f").data == {"a": float("inf")}


def test_repeated_keys_are_faults_and_the_first_counts() -> None:
    located = locate("a: 1\nb: 2\na: 3\n1: x\n'1': y\n", "f")

    assert located.data == {"a": 1, "b": 2, 1: "x"}
    assert located.faults == [
        Fault(("a",), "a second time, first on line 1", "once", line=3),
        Fault((1,), "a second time, first on line 4", "once", line=5),
    ]


def test_a_key_that_is_a_list_is_a_fault() -> None:
    located = locate("a:\n  ? [1]\n  : 2\n", "f")

    assert located.faults == [
        Fault(("a",), "a group or list as a key", "one word or number as a key", line=2)
    ]
