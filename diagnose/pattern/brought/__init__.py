"""Her pattern in: drawings in SVG and DXF, and photographs (`photo`), turned into a checked pattern.

A reader makes a sketch of strokes in mm (`svg`, `dxf`); the sketch's lines are joined into outlines (`joining`,
`outlines`), parted at their corners into edges (`corners`, `proposal`), marked (`marks`), labelled (`labels`,
`applying`), checked for scale (`scale`), levelled and sewn (`levels`, `seams`, `finishing`).
"""

from __future__ import annotations

from diagnose.pattern.brought.bringing import (
    bring,
    bring_sketch,
    draft_of_sketch,
    file_bytes,
    load_pattern,
    read_sketch,
)
from diagnose.pattern.brought.understanding import Terms, Understood, understand

__all__ = [
    "Terms", "Understood", "bring", "bring_sketch", "draft_of_sketch", "file_bytes",
    "load_pattern", "read_sketch",
    "understand",
]  # fmt: skip
