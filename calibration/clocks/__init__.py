"""Device clocks: counters that wrap, and two of them laid over one another."""
