"""Words and tables for the terminal."""
