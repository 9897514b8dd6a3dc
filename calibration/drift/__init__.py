"""Drift: what pads, the neck passed both ways and a thermometer say of it."""
