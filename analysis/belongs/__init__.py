"""Whether a scan can be what it is said to be, and what to know of how it was made."""
