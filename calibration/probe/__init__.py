"""What touches: the tip of a plunger or the spot of light."""
