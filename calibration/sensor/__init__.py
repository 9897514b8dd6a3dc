"""The sensor's curve and hysteresis, from gauges."""
