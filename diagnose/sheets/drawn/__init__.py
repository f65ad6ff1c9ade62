"""The neutral drawing, and what is drawn with it: the pattern, what changed, the gap."""
