"""Gauges as they are typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.cli.gauges import gauges_of
from daq.errors import InputError
from daq.steps.calibrate_sensor import Gauge


def test_plain_thicknesses_take_the_uncertainty_for_all() -> None:
    assert gauges_of("0,0.5, 1", 0.3) == [Gauge(0.0, 0.3), Gauge(0.5, 0.3), Gauge(1.0, 0.3)]


def test_each_may_give_its_own() -> None:
    found = gauges_of("2:0.1,1,0:0", 0.3)
    assert found == [Gauge(2.0, 0.1), Gauge(1.0, 0.3), Gauge(0.0, 0.0)]


@given(
    st.lists(
        st.tuples(st.floats(-100.0, 100.0), st.floats(0.0, 100.0)),
        min_size=3,
        max_size=20,
        unique_by=lambda one: one[0],
    ),
    st.booleans(),
)
def test_what_is_typed_is_what_is_found(gauges: list[tuple[float, float]], down: bool) -> None:
    wanted = [Gauge(mm, u) for mm, u in sorted(gauges, reverse=down)]
    typed = ",".join(f"{gauge.mm!r}:{gauge.u_um!r}" for gauge in wanted)
    assert gauges_of(typed, 0.3) == wanted


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("0,0.5", "found 2 of them"),
        ("0,half,1", "found 'half' in '0,half,1'"),
        ("0,0.5:,1", "found '0.5:'"),
        ("0,,1", "found ''"),
        ("1,1,1", "found 1 mm twice"),
        ("0,0.5,0.50,1", "found 0.5 mm twice"),
        ("0,1,0.5,1.5", "found 0.5 mm after 1 mm, out of order"),
        ("2,1,1.5,0", "found 1.5 mm after 1 mm, out of order"),
        ("0,0.5,nan", "a thickness of nan mm"),
        ("0,0.5,101", "a thickness of 101 mm; allowed -100 to 100 mm"),
        ("0,0.5:-1,1", "an uncertainty of -1 µm for the 0.5 mm gauge; allowed 0 to 100"),
        ("0,0.5:nan,1", "an uncertainty of nan µm"),
        (",".join(map(str, range(61))), "found 61 of them"),
    ],
)
def test_slips_are_one_line(given: str, says: str) -> None:
    with pytest.raises(InputError) as found:
        gauges_of(given, 0.3)
    assert says in str(found.value)
    assert "--gauges: found" in str(found.value)
    assert "\n" not in str(found.value)


@pytest.mark.parametrize("um", [-0.1, 101.0, float("nan")])
def test_an_uncertainty_for_all_out_of_range(um: float) -> None:
    with pytest.raises(InputError, match="--gauge-um: found"):
        gauges_of("0,0.5,1", um)
