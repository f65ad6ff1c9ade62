"""Drawings as they come: SVG and DXF read into outlines and lines, before anything is made of them."""
