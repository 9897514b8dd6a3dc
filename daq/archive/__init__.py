"""A workshop's whole history: every scan found, searched, and read again."""
