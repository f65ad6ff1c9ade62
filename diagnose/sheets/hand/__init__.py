"""Ruler and pencil: how each operation is drawn by hand, in words, figures and small pictures."""
