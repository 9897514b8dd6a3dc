"""What `neckform archive years` tells: a table, a document, a page where one is asked for."""

from __future__ import annotations

from pathlib import Path

from daq.archive.database import archive
from daq.archive.history import years_of_instrument, years_of_rig
from daq.archive.pictures import instrument_pictures, rig_pictures
from daq.cli.desk import Desk
from daq.documents.archive_years import instrument_years_document, rig_years_document
from daq.report.years import YearsPage, years_html
from daq.text.archive_years import (
    INSTRUMENT_HEADERS,
    about_instrument,
    about_rig,
    instrument_rows,
    instrument_sentences,
    print_instrument_years,
    print_rig_years,
    rig_headers,
    rig_rows,
    rig_sentences,
)
from daq.text.console import say
from daq.workshop.store import atomic_write_text


def told_instrument(at: Desk, path: Path, name: str, to: Path | None) -> None:
    """Raises InputError, FileError."""
    with archive(path, there=True) as db:
        years = years_of_instrument(db, name)
    print_instrument_years(at.out, years)
    page = YearsPage(
        "Instrument over the years",
        years.name,
        about_instrument(years),
        instrument_sentences(years),
        instrument_pictures(years),
        "Every scan that was read",
        INSTRUMENT_HEADERS,
        instrument_rows(years),
    )
    _written(at, page, to)
    at.answer({**instrument_years_document(years), "page": None if to is None else str(to)})


def told_rig(at: Desk, path: Path, name: str, to: Path | None) -> None:
    """Raises InputError, FileError."""
    with archive(path, there=True) as db:
        years = years_of_rig(db, name)
    print_rig_years(at.out, years)
    page = YearsPage(
        "Rig over the years",
        years.name,
        about_rig(years),
        rig_sentences(years),
        rig_pictures(years),
        "Means of all recordings",
        rig_headers(years),
        rig_rows(years),
    )
    _written(at, page, to)
    at.answer({**rig_years_document(years), "page": None if to is None else str(to)})


def _written(at: Desk, page: YearsPage, to: Path | None) -> None:
    if to is not None:
        atomic_write_text(to, years_html(page))
        say(at.out, f"The page is {to}; open it in a browser, or print it.")
