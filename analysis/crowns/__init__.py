"""Fret tops: the shape under the tip, fitted."""
