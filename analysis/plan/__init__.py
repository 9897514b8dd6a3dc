"""From the neck to the decision: rod, nut, saddles, cuts."""
