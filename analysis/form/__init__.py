"""Along and across: S-shape, fall-away, what stands out, radius a fret, cone or cylinder."""
