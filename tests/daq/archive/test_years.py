from __future__ import annotations

import sqlite3
from dataclasses import replace

import numpy as np
import pytest

from daq.archive.history import years_of_instrument, years_of_rig
from daq.archive.rig_years import rig_years
from daq.archive.rows import ReadingRow, ScanRow
from daq.archive.trend import trend
from daq.archive.years import decimal_year, instrument_years
from daq.errors import InputError

from .conftest import put_reading, put_rows

SCAN = ScanRow("", 1, "1", "scan", instrument="walnut parlour", rig="bench", state="strung")


def at(url: str, made: str, **more: object) -> ScanRow:
    return replace(SCAN, url=url, scan_id=url, made=f"{made}T12:00:00+00:00", **more)  # type: ignore[arg-type]


def read(url: str, relief_um: float, wear_um: float | None, u_um: float = 1.0) -> ReadingRow:
    return ReadingRow(url, relief_um, u_um, wear_um, None, u_um, "2026-01-01")


def test_a_year_is_as_long_as_it_is() -> None:
    assert decimal_year("2024-01-01T00:00:00+00:00") == 2024.0
    assert decimal_year("2023-07-02T12:00:00+00:00") == pytest.approx(2023.5)
    assert decimal_year("2024-07-02T00:00:00+00:00") == pytest.approx(2024.5)


def test_a_rate_and_its_uncertainty() -> None:
    """Slope and its u of a straight line, by the textbook: u / sqrt(sum of squares of t)."""
    years, u = [2020.0, 2021.0, 2022.0, 2023.0], [2.0] * 4
    fitted = trend(years, [10.0, 13.0, 16.0, 19.0], u)
    assert fitted is not None
    assert (fitted.rate, fitted.scatter) == (pytest.approx(3.0), pytest.approx(0.0, abs=1e-9))
    assert fitted.u_rate == pytest.approx(2.0 / np.sqrt(5.0))
    assert fitted.on(2025.0) == pytest.approx(25.0)


def test_rates_scatter_as_their_uncertainty_says() -> None:
    rng = np.random.default_rng(8)
    years = np.array([2019.2, 2020.1, 2020.9, 2022.3, 2023.0, 2024.6])
    u = np.array([1.0, 2.0, 1.5, 0.5, 3.0, 1.0])
    found = [trend(years, 5.0 + 2.0 * years + u * rng.standard_normal(6), u) for _ in range(2000)]
    rates = np.array([one.rate for one in found if one is not None])
    alone = 1.0 / np.sqrt(np.sum(u**-2 * (years - np.average(years, weights=u**-2)) ** 2))
    assert np.std(rates) == pytest.approx(alone, rel=0.06)
    assert np.mean(rates) == pytest.approx(2.0, abs=4.0 * alone / np.sqrt(2000))
    assert min(one.u_rate for one in found if one is not None) == pytest.approx(alone)


def test_what_scatters_wider_than_it_says_is_less_sure() -> None:
    years, u = [2020.0, 2021.0, 2022.0, 2023.0], [1.0] * 4
    fitted = trend(years, [0.0, 10.0, 0.0, 10.0], u)
    assert fitted is not None
    assert fitted.scatter > 5.0
    assert fitted.u_rate == pytest.approx(fitted.scatter / np.sqrt(5.0))


def test_unknown_uncertainties_are_taken_from_the_scatter() -> None:
    years = [2020.0, 2021.0, 2022.0, 2023.0]
    values = [0.0, 1.2, 1.8, 3.0]
    by_scatter = trend(years, values, [None] * 4)
    assert by_scatter is not None
    off = np.array(values) - [by_scatter.on(year) for year in years]
    assert by_scatter.u_rate == pytest.approx(np.sqrt(np.sum(off**2) / 2.0 / 5.0))


@pytest.mark.parametrize("years", [[], [2020.0], [2020.0, 2024.0], [2020.0, 2020.1, 2020.2]])
def test_too_little_tells_no_trend(years: list[float]) -> None:
    assert trend(years, [1.0] * len(years), [1.0] * len(years)) is None


def test_relief_is_told_state_by_state_and_a_copy_once() -> None:
    scans = [
        at("c", "2023-01-01"), at("a", "2021-01-01"), at("b", "2022-01-01"),
        at("copy", "2022-01-01", duplicate_of="b"), at("u", "2022-06-01", state="unstrung"),
        at("new", "2024-01-01"), at("bad", "2020-01-01", fault="damaged: x"),
        at("rail", "2020-01-01", kind="other"),
    ]  # fmt: skip
    readings = [read("a", 100.0, 10.0), read("b", 110.0, 12.0), read("c", 120.0, 14.0),
                read("copy", 900.0, 90.0), read("u", 20.0, None), read("bad", 1.0, 1.0),
                replace(read("c", 500.0, 99.0), read_at="2025-01-01")]  # fmt: skip
    years = instrument_years("walnut parlour", scans, readings)
    assert [m.scan.url for m in years.moments] == ["a", "b", "u", "c"]
    assert list(years.relief) == ["strung"]
    assert years.relief["strung"].rate == pytest.approx(10.0, rel=0.01)
    assert years.unread == 1
    assert years.wear is not None
    assert years.wear.rate == pytest.approx(2.0, rel=0.01)


def test_wear_is_told_since_frets_were_dressed() -> None:
    wears = {2018: 10.0, 2019: 20.0, 2020: 30.0, 2021: 28.0, 2022: 5.0, 2023: 8.0, 2024: 11.0}
    scans = [at(str(year), f"{year}-01-01") for year in wears]
    readings = [read(str(year), 0.0, wear) for year, wear in wears.items()]
    years = instrument_years("x", scans, readings)
    assert [moment.scan.url for moment in years.dressed] == ["2022"]
    assert years.wear is not None
    assert years.wear.rate == pytest.approx(3.0, rel=0.01)
    # a fall that the uncertainties would explain is none
    unsure = [replace(one, u_top_um=10.0) for one in readings]
    assert instrument_years("x", scans, unsure).dressed == ()


def test_a_rig_by_months_and_by_years() -> None:
    scans = [at(f"{month}-{n}", f"2024-0{month}-1{n}", noise_um=month + 0.1 * n, lost=0.01,
                damaged=0.0) for month in (1, 2, 3) for n in (1, 2, 3)]  # fmt: skip
    by_month = rig_years("bench", scans)
    assert [(span.name, span.scans) for span in by_month.spans] == [
        ("2024-01", 3), ("2024-02", 3), ("2024-03", 3),
    ]  # fmt: skip
    first = by_month.spans[0]
    assert (first.noise_um, first.lost) == (pytest.approx(1.2), pytest.approx(0.01))
    assert first.u_noise_um == pytest.approx(0.1 / np.sqrt(3.0))
    older = [*scans, at("old", "2019-05-05", noise_um=None, lost=0.5, kind="other")]
    by_year = rig_years("bench", older)
    assert [span.name for span in by_year.spans] == ["2019", "2024"]
    assert np.isnan(by_year.spans[0].noise_um)
    assert (by_year.spans[0].lost, by_year.spans[0].u_lost) == (0.5, None)
    assert rig_years("bench", []).spans == ()


def test_rows_come_from_the_archive_whatever_the_case(db: sqlite3.Connection) -> None:
    put_rows(db, [at("a", "2024-01-01"), at("b", "2024-02-01"), at("c", "2024-03-01", rig="x")])
    put_reading(db, "a", relief_um=50.0, u_relief_um=2.0)
    put_reading(db, "b", outcome="fault", fault="damaged: x")
    years = years_of_instrument(db, "WALNUT parlour")
    assert (years.name, years.unread) == ("walnut parlour", 2)
    assert [(m.relief_um, m.wear_um, m.u_wear_um) for m in years.moments] == [(50.0, None, None)]
    assert [one.scan.url for one in years_of_rig(db, "bench").health] == ["a", "b"]


def test_a_name_that_is_not_there_is_answered_with_those_that_are(db: sqlite3.Connection) -> None:
    with pytest.raises(InputError, match="no file in it names a rig"):
        years_of_rig(db, "bench")
    put_rows(db, [at("a", "2024-01-01")])
    with pytest.raises(InputError, match=r"instrument 'oak': .*; there are: walnut parlour"):
        years_of_instrument(db, "oak")
