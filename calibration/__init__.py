"""What the rig does wrong, estimated and undone: pure functions over arrays."""
