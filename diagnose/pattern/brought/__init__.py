"""Her pattern in, whatever its form: what it is understood to be, with what is open, until it is settled.

Drawings (`drawings`) and photographs (`photo`) are read into a sketch of strokes in mm, whose lines are joined into
outlines, sorted and ordered. What they mean is proposed (`understood`): edges between corners, marks, labels laid over
them, levels, seams. A point table (`table`) and a stored pattern join as proposals of which less, or nothing, is
presumed. What all of it comes to is an `Understood`, held for belief (`believing`).
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
