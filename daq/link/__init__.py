"""Ports: bytes to and from a rig, and what a port says when it fails."""
