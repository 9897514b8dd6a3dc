"""After the cut: planned against achieved, and the law learnt."""
