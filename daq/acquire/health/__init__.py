"""A look at a rig that is not scanning: noise, rates, clocks, pads, wiring."""
