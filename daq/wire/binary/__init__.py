"""The binary protocol: few bytes a sample for a fast sensor, see rig_configs/binary-protocol.md."""
