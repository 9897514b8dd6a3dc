"""The archive from the command line, over scans of the software rig."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import pytest

from daq.archive.database import archive
from daq.record.hdf5 import VERSION

from .conftest import Outcome, Shop

Type = Callable[..., Outcome]


@pytest.fixture
def indexed(shop: Shop, type_in: Type) -> Shop:
    assert type_in(shop, "archive index {shop}").code == 0
    return shop


def answer(outcome: Outcome) -> Any:
    assert outcome.code == 0, outcome.err
    return json.loads(outcome.out)


def test_a_workshop_is_indexed_and_again(shop: Shop, type_in: Type) -> None:
    first = answer(type_in(shop, "archive index {shop} --json"))
    assert (first["found"], first["opened"], first["scans"], first["others"]) == (8, 8, 7, 1)
    assert len(first["duplicates"]) == 2
    assert (first["faults"], first["not_listed"]) == ({}, [])
    assert first["archive"] == str(shop.root / "archive.db")
    again = type_in(shop, "archive index {shop}")
    assert "8 files found, 0 new or changed and opened, 0 gone" in again.out
    assert "2 of them are copies" in again.out


def test_bad_files_and_folders_are_named_and_the_rest_is_done(shop: Shop, type_in: Type) -> None:
    cut = shop.own("001-strung")
    cut.write_bytes(cut.read_bytes()[:-5000])
    newer = shop.own("001-strung", "slack")
    with h5py.File(newer, "r+") as file:
        file["entry/scan/format_version"][()] = VERSION + 1
    (shop.root / "notes.h5").write_text("not a scan")
    told = type_in(shop, "archive index {folder}/none {shop} --json")
    assert told.code == 3
    assert told.faults == [f"neckform: {shop.folder}/none: not indexed: there is no such folder"]
    document = json.loads(told.out)
    assert document["faults"] == {"cut short": 1, "foreign": 1, "newer version": 1}
    assert {one["url"] for one in document["faulty"]} == {
        str(cut), str(newer), str(shop.root / "notes.h5"),
    }  # fmt: skip
    assert document["scans"] == 5
    shown = type_in(shop, "archive find --faulty")
    assert "Cannot be read" in shown.out
    assert "found something else; a scan file is HDF5" in " ".join(shown.out.split())


def test_scans_are_found_by_what_they_are(indexed: Shop, type_in: Type) -> None:
    def count(line: str) -> int:
        return int(answer(type_in(indexed, f"archive find {line} --json"))["count"])

    assert count("") == 8
    assert count("--job good") == 4
    assert count("--job good --state strung") == 2
    assert count("--instrument walnut") == 0
    assert count("--rig simulated-rail") == 8
    assert count("--from 2020") == 8
    assert count("--to 2020") == 0
    assert count("parlour SLACK") == 2
    assert count("--faulty") == 0
    assert count("--whole") == 8
    (one,) = answer(type_in(indexed, "archive find --job edge --json"))["scans"]
    assert (one["state"], one["instrument"], one["frets"]) == ("strung", "walnut parlour", 22)
    assert 0.5 < one["noise_um"] < 5.0
    assert 0.0 < one["lost"] < 0.05


def test_the_table_names_files_and_what_they_share(indexed: Shop, type_in: Type) -> None:
    told = type_in(indexed, "archive find --job good --limit 3")
    assert "4 files fit, the newest 3 shown; --limit shows more." in told.out
    flat = " ".join(told.out.split())
    assert "job good" in flat
    # a long path is broken where the terminal ends
    assert f"filesarein{indexed.root}/jobs/" in "".join(told.out.split())
    assert "Nothing in the archive fits." in type_in(indexed, "archive find nowhere").out


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("find --from 2024-13", "--from: found '2024-13'; allowed a date: 2024, 2024-05"),
        ("find --to yesterday", "--to: found 'yesterday'; allowed a date"),
        ("find --state tight", "--state: found 'tight'; allowed strung or unstrung"),
        ("years", "--instrument, --rig: found neither; allowed one of them"),
        ("years --rig a --instrument b", "found both; allowed one of them"),
        (
            "years --rig other",
            "rig 'other': found none of that name in the archive; there are: sim",
        ),
        ("find --archive {folder}/rig.yaml", "rig.yaml: cannot be opened as an archive"),
        ("find --archive {folder}/none.db", "none.db: found no archive; make it with: neckform"),
        ("index", "Missing argument 'FOLDER'"),
    ],
)
def test_what_is_asked_wrongly(indexed: Shop, type_in: Type, line: str, says: str) -> None:
    told = type_in(indexed, f"archive {line}")
    assert told.code in (2, 3)
    assert len(told.faults) == 1
    assert says in told.faults[0]
    assert not (indexed.folder / "none.db").exists()


def test_an_empty_folders_name_is_not_this_folder(shop: Shop, type_in: Type) -> None:
    told = type_in(shop, "archive index", "")
    assert (told.code, told.faults) == (
        2, ["neckform: FOLDER: found nothing; allowed a folder, or the URL of one"],
    )  # fmt: skip


def test_words_that_are_no_text(indexed: Shop, type_in: Type) -> None:
    told = type_in(indexed, "archive find", "\udcff")
    assert (told.code, len(told.faults)) == (2, 1)


def test_years_of_a_rig_and_of_an_instrument(indexed: Shop, type_in: Type) -> None:
    page = indexed.folder / "rig.html"
    told = answer(type_in(indexed, "archive years --rig SIMULATED-rail --json --to", str(page)))
    assert (len(told["recordings"]), told["page"]) == (6, str(page))
    assert 0.5 < told["spans"][0]["noise_um"] < 5.0
    text = page.read_text(encoding="utf-8")
    assert len(re.findall("<svg", text)) == 3
    none = type_in(indexed, "archive years --instrument", "walnut parlour")
    assert "neckform archive again" in " ".join(none.out.split())
    with archive(indexed.root / "archive.db") as db, db:
        db.execute(
            "INSERT INTO readings (url, way, outcome, relief_um, u_relief_um, wear_um, u_top_um, "
            "read_at) SELECT url, 'w', 'read', 150, 5, 20, 3, '2026-01-01' FROM scans"
        )
    told = answer(type_in(indexed, "archive years --json --instrument", "walnut parlour"))
    assert len(told["scans"]) == 5
    assert told["scans"][0]["relief_um"] == 150.0


def test_a_search_waits_for_nothing_that_indexing_needs(indexed: Shop, run: Type) -> None:
    """Neither the file systems' library nor HDF5 is imported by what a search itself needs."""
    script = (
        "import sys; from pathlib import Path\n"
        "from daq.archive.database import archive; from daq.archive.search import Query, search\n"
        f"with archive(Path({str(indexed.root / 'archive.db')!r}), there=True) as db:\n"
        "    assert search(db, Query()).count == 8\n"
        "print(sorted({'fsspec', 'h5py', 'numpy'} & set(sys.modules)))"
    )
    told = run([sys.executable], ["-c", script])
    assert (told.code, told.out.strip(), told.err) == (0, "[]", "")


def test_nothing_is_written_beside_the_scans(shop: Shop, type_in: Type, tmp_path: Path) -> None:
    def there() -> dict[str, int]:
        return {str(path): path.stat().st_mtime_ns for path in shop.root.rglob("*")}

    before = there()
    assert type_in(shop, "archive index {shop} --archive", str(tmp_path / "else/a.db")).code == 0
    assert there() == before
