"""One writer for each form of file: page, SVG, PDF and DXF; what goes to a terminal is laid out by `words`."""
