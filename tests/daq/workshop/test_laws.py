"""The kept history of cuts: never lost, never misread."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from pydantic import ValidationError

from daq.errors import FileError
from daq.workshop.laws import LawBook, LawEntry


def entry(job: str, *planned_um: float) -> LawEntry:
    return LawEntry(
        job=job,
        made="2024-05-06T07:08:09+00:00",
        tool="file",
        metal="nickel silver",
        planned_um=planned_um,
        achieved_um=tuple(0.9 * planned for planned in planned_um),
        u_um=tuple(1.5 for _ in planned_um),
    )


APPEND = """
import sys
from pathlib import Path
from daq.workshop.laws import LawBook, LawEntry
path, job = Path(sys.argv[1]), sys.argv[2]
for number in range(15):
    LawBook(path).append(
        LawEntry(job=f"{job}{number}", made="2024-05-06T07:08:09+00:00", tool="file",
                 metal="steel", planned_um=(10.0,), achieved_um=(9.0,), u_um=(1.0,))
    )
"""


def test_no_file_is_no_entries(tmp_path: Path) -> None:
    assert LawBook(tmp_path / "laws.json").entries() == ()


def test_entries_come_back_in_order_and_equal(tmp_path: Path) -> None:
    book = LawBook(tmp_path / "new" / "laws.json")
    first, second = entry("a", 31.0, 12.5), entry("b")

    book.append(first)
    book.append(second)

    assert book.entries() == (first, second)
    assert LawBook(book.path).entries()[0].achieved_um == pytest.approx((27.9, 11.25))


def test_an_entry_takes_the_place_of_its_parts(tmp_path: Path) -> None:
    """The same cut, measured by more scans: what fewer of them saw is in it."""
    book = LawBook(tmp_path / "laws.json")
    for job in ("a/001/003", "b/001/003"):
        book.append(entry(job, 31.0))
    book.append(entry("a/001/004", 31.0), instead_of=["a/001/003"])
    assert [one.job for one in book.entries()] == ["b/001/003", "a/001/004"]


def test_processes_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "laws.json"
    # processes of their own and not threads: a flock is what must hold them apart
    workers = [
        subprocess.Popen([sys.executable, "-c", APPEND, str(path), job]) for job in ("a", "b", "c")
    ]

    assert [worker.wait(60) for worker in workers] == [0, 0, 0]
    jobs = [entry.job for entry in LawBook(path).entries()]
    assert sorted(jobs) == sorted(f"{job}{number}" for job in "abc" for number in range(15))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "found a damaged file"),
        ("[]", "found a damaged file"),
        ('{"version": 2, "entries": []}', "version: found a damaged file"),
        ('{"version": 1, "entries": [{"job": "a"}]}', "entries.0.made: found a damaged file"),
        ('{"version": 1, "entries": [], "more": 1}', "more: found a damaged file"),
    ],
)
def test_a_damaged_book_is_refused_and_kept(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "laws.json"
    path.write_text(text, encoding="utf-8")

    with pytest.raises(FileError) as caught:
        LawBook(path).append(entry("a", 1.0))

    assert str(caught.value).startswith(f"{path}: ")
    assert said in str(caught.value)
    assert path.read_text(encoding="utf-8") == text


def test_lists_of_different_lengths_and_nan_are_refused() -> None:
    with pytest.raises(ValidationError, match="must be of one length"):
        LawEntry(**(entry("a", 1.0).model_dump() | {"u_um": ()}))
    with pytest.raises(ValidationError, match="finite number"):
        entry("a", float("nan"))
