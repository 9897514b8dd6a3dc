"""Calibrations: kept side by side, the newest found, strangers refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from daq.errors import FileError
from daq.workshop.calibrations import CalibrationStore


@pytest.fixture
def store(tmp_path: Path) -> CalibrationStore:
    return CalibrationStore(tmp_path / "garage-rail", "garage-rail")


def document(made: str, **more: object) -> dict[str, object]:
    return {"kind": "rail", "rig": "garage-rail", "made": made, **more}


def test_none_yet(store: CalibrationStore) -> None:
    assert store.latest("rail") is None
    assert store.documents("rail") == []


def test_what_is_saved_is_found_as_text_and_data(store: CalibrationStore) -> None:
    path = store.save("rail", document("2024-05-06T07:08:09+02:00", x_mm=[0, 1]))

    assert path.name == "rail-20240506T050809.json"
    assert store.latest("rail") == (
        path.read_text(encoding="utf-8"),
        document("2024-05-06T07:08:09+02:00", x_mm=[0, 1]),
    )
    assert store.latest("lag") is None


def test_nothing_is_overwritten_and_the_newest_wins(store: CalibrationStore) -> None:
    made = "2024-05-06T07:08:09+00:00"
    paths = [store.save("rail", document(made, number=number)) for number in range(11)]
    store.save("rail", document("2023-01-01T00:00:00+00:00", number=-1))

    assert len(set(paths)) == 11
    assert paths[1].name == "rail-20240506T070809-2.json"
    latest = store.latest("rail")
    assert latest is not None
    assert latest[1]["number"] == 10
    assert len(store.documents("rail")) == 12


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"rig": "other"}, "rig: found 'other'; allowed 'garage-rail'; this calibration belongs"),
        ({"kind": "lag"}, "kind: found 'lag'; allowed 'rail'; this calibration belongs elsewhere"),
        ({"made": "yesterday"}, "made: found 'yesterday'; allowed an ISO 8601 time with offset"),
        ({"made": "2024-05-06T07:08:09"}, "allowed an ISO 8601 time with offset"),
        ({"made": None}, "made: found None; allowed an ISO 8601 time with offset"),
    ],
)
def test_a_stranger_is_refused_on_saving_and_on_reading(
    store: CalibrationStore, changed: dict[str, object], said: str
) -> None:
    stranger = document("2024-05-06T07:08:09+00:00") | changed
    with pytest.raises(FileError) as caught:
        store.save("rail", stranger)
    assert said in str(caught.value)
    assert store.documents("rail") == []

    path = store.save("rail", document("2024-05-06T07:08:09+00:00"))
    for key, value in changed.items():
        text = path.read_text(encoding="utf-8")
        new = "null" if value is None else f'"{value}"'
        path.write_text(text.replace(f'"{document("2024-05-06T07:08:09+00:00")[key]}"', new))
    with pytest.raises(FileError) as caught:
        store.latest("rail")
    assert str(caught.value).startswith(f"{path}: ")
    assert said in str(caught.value)


def test_a_damaged_newest_is_not_passed_over(store: CalibrationStore) -> None:
    store.save("rail", document("2024-05-06T07:08:09+00:00"))
    path = store.save("rail", document("2024-05-07T07:08:09+00:00"))
    path.write_text("", encoding="utf-8")

    with pytest.raises(FileError, match=r"rail-20240507T070809\.json: found a damaged file"):
        store.latest("rail")

    path.write_text("[1]", encoding="utf-8")
    with pytest.raises(FileError, match="found no group of keys; allowed a rail calibration"):
        store.latest("rail")


def test_an_unknown_kind(store: CalibrationStore) -> None:
    with pytest.raises(FileError, match="found kind 'ruler'; allowed rail or lag"):
        store.save("ruler", {"kind": "ruler"})


def test_scans_behind_calibrations_are_numbered(store: CalibrationStore) -> None:
    path = store.next_scan_path("rail")
    assert path == store.folder / "scans" / "001-rail.h5"

    path.parent.mkdir(parents=True)
    path.touch()
    assert store.next_scan_path("lag").name == "002-lag.h5"
