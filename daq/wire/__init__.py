"""The rig's line protocol, without I/O: bytes in, records out, bytes to send."""
