"""The workshop's folder, and opening jobs in it."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest

from daq.errors import FileError, InputError
from daq.files.instrument import InstrumentFile
from daq.workshop.place import Workshop, workshop_folder


def test_the_folder_asked_for_comes_first() -> None:
    environment = {"NECKFORM_WORKSHOP": "/bench"}

    assert workshop_folder(Path("/mine"), environment) == Path("/mine")
    assert workshop_folder(None, environment) == Path("/bench")
    assert workshop_folder(None, {}) == platformdirs.user_data_path("neckform", appauthor=False)
    assert workshop_folder(None, {"NECKFORM_WORKSHOP": ""}) == workshop_folder(None, {})


def test_a_new_job_is_a_folder_with_its_instrument(
    workshop: Workshop, instrument: InstrumentFile
) -> None:
    job = workshop.new_job("pear tenor 2", instrument)

    assert job.folder == workshop.root / "jobs" / "pear tenor 2"
    assert (job.folder / "instrument.yaml").read_text(encoding="utf-8") == instrument.text
    assert job.instrument().record == instrument.record
    assert workshop.job("pear tenor 2") == job
    assert [entry.name for entry in workshop.jobs_folder.iterdir()] == ["pear tenor 2"]


def test_a_taken_name_is_refused_and_the_job_untouched(
    workshop: Workshop, instrument: InstrumentFile
) -> None:
    job = workshop.new_job("tenor", instrument)
    job.instrument_path.write_text("changed by hand", encoding="utf-8")

    with pytest.raises(InputError) as caught:
        workshop.new_job("tenor", instrument)

    assert str(caught.value) == ("job tenor: found a job of that name already; allowed a new name")
    assert job.instrument_text() == "changed by hand"


@pytest.mark.parametrize(
    "name",
    ["", ".", "..", "../x", "a/b", "a\\b", ".hidden", "-x", " x", "x ", "x.", "a\nb", "a" * 65],
)
def test_a_name_that_is_no_name(workshop: Workshop, instrument: InstrumentFile, name: str) -> None:
    for attempt in (
        lambda: workshop.new_job(name, instrument),
        lambda: workshop.job(name),
        lambda: workshop.calibrations(name),
    ):
        with pytest.raises(InputError, match=r"name: found '.*'; allowed 1 to 64 letters"):
            attempt()
    assert not workshop.root.exists()


@pytest.mark.parametrize("name", ["a", "3", "Müller 00-18", "x_1.2", "a" * 64])
def test_a_name_that_is_one(workshop: Workshop, instrument: InstrumentFile, name: str) -> None:
    assert workshop.new_job(name, instrument).name == name


def test_an_unknown_job_names_those_there_are(
    workshop: Workshop, instrument: InstrumentFile
) -> None:
    workshop.new_job("tenor", instrument)
    workshop.new_job("parlour", instrument)

    with pytest.raises(InputError) as caught:
        workshop.job("tenner")

    assert str(caught.value) == (
        f"job tenner: found no such job in {workshop.root}; "
        "the jobs there are: parlour, tenor; "
        "open one with: neckform job new tenner --instrument FILE.yaml"
    )


def test_an_unknown_job_in_an_empty_workshop(workshop: Workshop) -> None:
    with pytest.raises(InputError) as caught:
        workshop.job("my tenor")

    assert str(caught.value) == (
        f"job my tenor: found no such job in {workshop.root}; there are no jobs yet; "
        'open one with: neckform job new "my tenor" --instrument FILE.yaml'
    )
    assert workshop.jobs() == []


def test_a_job_that_could_not_be_made_leaves_nothing(
    workshop: Workshop, instrument: InstrumentFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = Path.rename

    def refuse(path: Path, target: Path) -> Path:
        if path.is_dir():
            raise OSError(30, "Read-only file system")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(FileError, match=r"tenor: could not be made \(Read-only file system\)"):
        workshop.new_job("tenor", instrument)

    assert list(workshop.jobs_folder.iterdir()) == []


def test_a_workshop_that_is_a_file(tmp_path: Path, instrument: InstrumentFile) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")

    with pytest.raises(FileError, match="could not be written"):
        Workshop(tmp_path / "file").new_job("tenor", instrument)


def test_stray_files_and_hidden_folders_are_no_jobs(
    workshop: Workshop, instrument: InstrumentFile
) -> None:
    workshop.new_job("tenor", instrument)
    (workshop.jobs_folder / "readme.txt").write_text("x", encoding="utf-8")
    (workshop.jobs_folder / ".other.tmp").mkdir()

    assert [job.name for job in workshop.jobs()] == ["tenor"]
