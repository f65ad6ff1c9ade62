"""One writer for each output: page, SVG, PDF, DXF and JSON; what goes to a terminal is laid out by `words`."""
