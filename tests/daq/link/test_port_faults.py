"""Ports that this person may not open, and what is no port at all."""

from __future__ import annotations

import grp
import os
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from daq.errors import RigError
from daq.link.serial_port import SerialLink

NOBODY = 65_534


@contextmanager
def somebody_else() -> Iterator[None]:
    """A person with no groups, as far as opening goes."""
    groups, group = os.getgroups(), os.getegid()
    os.setgroups([])
    os.setegid(NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(group)
        os.setgroups(groups)


@pytest.fixture
def forbidden() -> Iterator[str]:
    """A pseudo-terminal of the group that ports belong to, with the usual rights."""
    if os.geteuid() != 0:
        pytest.skip("only root can take rights away and give them back")
    far, port = os.openpty()
    tty.setraw(port)
    name = os.ttyname(port)
    os.chown(name, 0, grp.getgrnam("dialout").gr_gid)
    Path(name).chmod(0o660)
    yield name
    os.close(port)
    os.close(far)


def test_no_permission_names_the_group(forbidden: str) -> None:
    with somebody_else(), pytest.raises(RigError) as caught:
        SerialLink(forbidden, 115_200, "8N1")
    assert str(caught.value) == (
        f"no permission to open {forbidden}: it belongs to the group dialout; add yourself to that "
        "group (sudo usermod -aG dialout $USER) and log in again"
    )


@pytest.mark.parametrize("name", ["a-file", "a-folder"])
def test_what_is_no_port(tmp_path: Path, name: str) -> None:
    (tmp_path / "a-file").write_text("no port")
    (tmp_path / "a-folder").mkdir()
    with pytest.raises(RigError, match=f"{name} does not open as a serial port .*check the port"):
        SerialLink(str(tmp_path / name), 115_200, "8N1")
