"""Her paper pattern photographed beside our card: the card found, lens and perspective undone, outlines traced."""
