"""Running a rig: reading it without losing a byte, moving it, judging what it measured."""
