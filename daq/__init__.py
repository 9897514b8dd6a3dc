"""The shell: everything that touches a port, a clock, a file, a network or a person."""
