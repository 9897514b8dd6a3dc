"""Templates: what they match, and what they are refused for."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.wire.printed.match import counts, line_pattern
from daq.wire.printed.template import ANY, TemplateError, parse_template


def read(pattern: str, line: bytes, decimals: int = 3, invalid: tuple[str, ...] = ()) -> object:
    """Counts; "none" for a line without a reading, None for one that does not match."""
    match = line_pattern(parse_template(pattern), invalid).fullmatch(line)
    if match is None:
        return None
    if match["whole"] is None and match["tail"] is None:
        return "none"
    number = counts(match, decimals)
    return "too large" if number is None else number


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        (b"12.345", 12345),
        (b"-12.345", -12345),
        (b"+ 0012.3", 12300),
        (b"-    0,5", -500),
        (b"\t7 ", 7000),
        (b".25", 250),
        (b"5.", 5000),
        (b"1.5e1", 15000),
        (b"1.5E-3", 2),
        (b"-1.2344", -1234),
        (b"-1.2345", -1235),
        (b"0.0004999", 0),
        (b"0.0005", 1),
        (b"1e-99", 0),
        (b"0e99", 0),
        (b"-0.000", 0),
        (b"2147483.647", 2**31 - 1),
        (b"-2147483.647", -(2**31) + 1),
        (b"2147483.648", "too large"),
        (b"-2147483.648", "too large"),
        (b"9.9e37", "too large"),
        (b"1e999", "too large"),
        (b"nan", "none"),
        (b"-INF", "none"),
        (b"1,234.5", None),
        (b"1.2.3", None),
        (b"--1", None),
        (b"1 2", None),
        (b"", None),
        (b"1.5mm", None),
        (b"1e", None),
        (b"\xff1.5", None),
        (b"12345678901234567890123", None),
    ],
)
def test_a_number_alone(line: bytes, wanted: object) -> None:
    assert read("{value}", line) == wanted


@pytest.mark.parametrize(
    ("pattern", "line", "wanted"),
    [
        ("ID {any}, {value} mm", b"ID 7/b, -0.250 mm", -250),
        ("ID {any}, {value} mm", b"  ID  ,\t 0.250  mm  ", 250),
        ("ID {any}, {value} mm", b"ID a, b, 3 mm", 3000),
        ("ID {any}, {value} mm", b"ID a, 3mm", None),
        ("ID {any}, {value} mm", b"ID a, 3 mm.", None),
        ("{any} {value}", b"1.2 3", 3000),
        ("{value},{any}", b"1,2,3", 1000),
        ("{value}, {any}", b"12, 20.1", 12000),
        ("{any};{value};{any}", b"a;b;3;c;4;d", 3000),
        ('{"d": {value}}', b'{"d":   1.5}', 1500),
        ("X{value}.", b"X5.", 5000),
        ("X{value}.", b"X5,25.", 5250),
        ("(.*) {value}", b"(.*) 1", 1000),
        ("(.*) {value}", b"abc 1", None),
    ],
)
def test_text_around_it(pattern: str, line: bytes, wanted: object) -> None:
    assert read(pattern, line) == wanted


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        (b"D ---- mm", "none"),
        (b"----", "none"),
        (b"ERR 3", "none"),
        (b"D -99.9 mm", "none"),
        (b"D -99.95 mm", -99950),
        (b"D OLD mm", None),
        (b"D OL mm", "none"),
    ],
)
def test_texts_that_stand_for_no_reading(line: bytes, wanted: object) -> None:
    assert read("D {value} mm", line, invalid=("----", "ERR 3", "-99.9", "OL")) == wanted


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("{vlaue} mm", "write {value}"),
        ("mm", "write {value} once"),
        ("{value} {value}", "write {value} once"),
        ("{value}{any}", "between {value} and {any}"),
        ("{any}{value}", "between {any} and {value}"),
        ("{any}{any} {value}", "one {any} is enough"),
        ("{value}0", "0 after {value} could belong to the number"),
        ("{value} µm", "{any} for any other"),
        ("", "1 to 200"),
        ("{value}" + "x" * 200, "1 to 200"),
    ],
)
def test_what_a_template_is_refused_for(pattern: str, said: str) -> None:
    with pytest.raises(TemplateError) as error:
        parse_template(pattern)

    assert said in str(error.value)


def test_the_shortest_line() -> None:
    assert parse_template("ID {any}, {value} mm").least_bytes(3) == len("ID , 0.000 mm\n")
    assert parse_template("{value}").least_bytes(0) == len("0\n")


def test_other_places_than_the_value() -> None:
    template = parse_template("X:{x} Y:{y} {any}", ("x", "y"))

    assert template.parts == ("X:", "{x}", " ", "Y:", "{y}", " ", ANY)
    with pytest.raises(TemplateError, match=r"between \{x\} and \{y\}"):
        parse_template("{x}{y}", ("x", "y"))
    with pytest.raises(TemplateError, match=r"write \{y\} once"):
        parse_template("{x}", ("x", "y"))


@given(st.text(max_size=60))
def test_any_text_is_a_template_or_told_why_not(text: str) -> None:
    try:
        template = parse_template(text)
    except TemplateError as error:
        told = str(error)
    else:
        told = line_pattern(template, ()).pattern.decode()
    assert told
    assert "\n" not in told


@given(st.decimals(-999, 999, places=6), st.integers(0, 6), st.sampled_from(["", "ID ", "(1) "]))
def test_a_number_printed_in_a_template_is_read_as_decimals_have_it(
    number: Decimal, decimals: int, before: str
) -> None:
    wanted = int((number * 10**decimals).to_integral_value(ROUND_HALF_UP))

    line = f"{before}{number} mm".encode("ascii")
    assert read(f"{before}{{value}} mm", line, decimals) == wanted


@given(st.binary(max_size=256), st.lists(st.sampled_from([b" ", b"1", b",", b"ID", b"-"])))
def test_no_line_makes_a_matcher_raise(line: bytes, pieces: list[bytes]) -> None:
    for pattern in ("ID {any}, {value} mm", "{any} {value} {any}", "{value},{any}"):
        for some in (line, b"".join(pieces)):
            read(pattern, some.replace(b"\n", b"").replace(b"\r", b""))
