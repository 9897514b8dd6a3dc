"""The keys of a link behind which a G-code board drives the carriage."""

from __future__ import annotations

from daq.files.rig_protocol import ProtocolKeys


class GcodeKeys(ProtocolKeys):
    """How the board is spoken to."""
