"""From what a try-on shows to the line to draw: fit diagnosis for stays, corsets and boned bodices."""
