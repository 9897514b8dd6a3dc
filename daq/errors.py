"""Errors that a user can cause: one clear line each, and the exit code that goes with it."""

from __future__ import annotations


class NeckformError(Exception):
    """The message is the line shown: what, where, what was found, what to do next."""

    exit_code = 3


class InputError(NeckformError):
    """What the user gave is wrong."""

    exit_code = 2


class RigError(NeckformError):
    """The rig failed or did not answer."""


class FileError(NeckformError):
    """A file could not be read or written."""
