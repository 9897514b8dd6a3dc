"""The rail's own straightness error, by four ways and their combination."""
