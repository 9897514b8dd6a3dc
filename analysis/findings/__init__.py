"""What no bending explains between two scans, and whether both show one neck."""
