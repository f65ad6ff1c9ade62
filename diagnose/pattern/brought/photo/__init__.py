"""Her paper pattern photographed beside our card: the card found, lens and perspective undone, outlines traced."""

__all__ = ["PHOTOGRAPHS"]

PHOTOGRAPHS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
"""How the names of photographs end."""
