"""Sensors that print a reading a line: what a line looks like stands in the rig file."""
