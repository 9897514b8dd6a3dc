"""The commands: what a person types, and what they read."""
