"""A scan: its lanes, its passes one after the other, and whether each may be kept."""
