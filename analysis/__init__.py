"""From corrected profiles to fret tops, relief, margins and the cut plan: pure functions."""
