"""What carries the reading of many scans out: processes here, or a cluster elsewhere."""
