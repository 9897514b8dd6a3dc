"""Sensor latency and carriage backlash, from passes both ways."""
