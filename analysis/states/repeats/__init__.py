"""Repeated scans of one state laid over one another and averaged: what `combined` is made of."""
