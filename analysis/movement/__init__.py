"""The neck's movement between two scans: what a bending beam can do."""
