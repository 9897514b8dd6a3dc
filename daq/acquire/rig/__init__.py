"""A rig as one thing: owned, greeted, moved, streamed, and brought back after a loss."""
