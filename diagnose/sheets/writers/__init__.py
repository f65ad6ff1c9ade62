"""One writer for each output: terminal, page, SVG, PDF, DXF and JSON."""
