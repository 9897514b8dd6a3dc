"""Pictures of a neck and of what is decided about it, inline SVG, for page and report."""
