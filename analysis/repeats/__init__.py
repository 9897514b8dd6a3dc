"""Scans of one state: read as one neck, and how well they repeat."""
