"""Dents, flats and loose frets."""
