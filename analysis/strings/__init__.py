"""What the strings need: tension, envelope, the player."""
