"""The lead screw's scale and periodic error, from the frets' pattern."""
