"""A job over HTTP: what it holds, what is asked of it and what comes of that, its papers."""
