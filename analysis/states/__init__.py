"""Two scans and more of one neck: what moved, what repeats."""
