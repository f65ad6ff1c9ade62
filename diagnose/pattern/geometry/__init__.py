"""Points, segments, runs and boxes: plain geometry, of an outline no more than the line that it runs along."""
