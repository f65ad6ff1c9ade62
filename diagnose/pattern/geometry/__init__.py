"""Points, segments, runs and boxes: plain geometry that knows nothing of a pattern."""
