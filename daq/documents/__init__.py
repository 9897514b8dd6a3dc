"""Results as plain dictionaries: the JSON that other programs read."""
