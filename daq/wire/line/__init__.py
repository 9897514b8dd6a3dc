"""The line protocol: a line of text a frame, see rig_configs/line-protocol.md."""
