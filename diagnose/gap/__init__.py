"""The lacing gap: shape, target, change wanted, back take-in."""
