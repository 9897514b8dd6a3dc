"""Files a person writes: read whole, every fault told at once with its file and line."""
