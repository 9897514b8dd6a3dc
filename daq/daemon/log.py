"""The daemon's log: a JSON object a line, on standard error and in a file that is turned over."""

from __future__ import annotations

import logging
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from logging.handlers import RotatingFileHandler
from pathlib import Path

from pythonjsonlogger.json import JsonFormatter

from daq.errors import FileError

LARGEST_BYTES = 5_000_000
OLDER_FILES = 5
NAMES = ("neckform", "uvicorn")


@contextmanager
def logging_to(file: Path | None) -> Iterator[None]:
    """What the daemon and its HTTP server log goes there until the block ends.

    Raises FileError where the file cannot be written.
    """
    handlers: list[logging.Handler] = [logging.StreamHandler(sys.stderr)]
    if file is not None:
        handlers.append(_file(file))
    form = JsonFormatter(
        "%(levelname)s %(name)s %(message)s",
        rename_fields={"levelname": "level", "message": "what"},
        timestamp="at",
    )
    for handler in handlers:
        handler.setFormatter(form)
    loggers = [logging.getLogger(name) for name in NAMES]
    before = [(logger, logger.level, logger.propagate) for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.INFO)
        logger.propagate = False
        for handler in handlers:
            logger.addHandler(handler)
    logging.getLogger("uvicorn.error").setLevel(logging.WARNING)
    try:
        yield
    finally:
        for logger, level, propagate in before:
            logger.setLevel(level)
            logger.propagate = propagate
            for handler in handlers:
                logger.removeHandler(handler)
        for handler in handlers:
            handler.close()


def _file(path: Path) -> logging.Handler:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return RotatingFileHandler(
            path, maxBytes=LARGEST_BYTES, backupCount=OLDER_FILES, encoding="utf-8"
        )
    except OSError as error:
        raise FileError(f"--log {path}: cannot be written ({error.strerror})") from error
