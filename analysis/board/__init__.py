"""The board between the frets and its arc across."""
