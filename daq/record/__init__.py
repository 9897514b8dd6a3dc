"""What survives: the journal written while scanning, and the scan file built from it."""
