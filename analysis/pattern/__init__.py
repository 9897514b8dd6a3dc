"""Which crown is which fret, and whether the scan is of this instrument."""
