"""How near is near enough: every tolerance of the reader and the measuring, named for what it measures, in mm."""

from __future__ import annotations

__all__ = [
    "CLOSE_TOL_MM", "FLATTEN_TOL_MM", "LEAST_AREA_MM2", "LEAST_STEP_MM", "LEVEL_REACH_TOL_MM",
    "MOST_EDGES", "MOST_EXTRA_DEPTH", "MOST_MARKS", "MOST_PIECES", "MOST_SEGMENTS", "NOTCH_TOL_MM", "ON_OUTLINE_TOL_MM",
    "PIECE_LIMIT_MM", "SEAM_MATCH_TOL_MM", "SLIT_FOOT_TOL_MM", "WIDEST_CHANNEL_MM", "WRITTEN_DECIMALS",
]  # fmt: skip

CLOSE_TOL_MM = 0.01
"""How far an outline's last point may lie from its start; within it the two are made one."""

LEAST_STEP_MM = 2e-6
"""A step shorter than this goes nowhere: it would be lost when the pattern is written."""

LEAST_AREA_MM2 = 1.0
"""An outline round less than this holds no paper."""

FLATTEN_TOL_MM = 0.05
"""How far the chords stray from the curves when an outline is tried for crossing itself."""

ON_OUTLINE_TOL_MM = 5e-6
"""A point this near the outline lies on it: a little more than the rounding of a written pattern."""

LEVEL_REACH_TOL_MM = 25.4 / 16
"""How far short of the outline a level may end: one mark of the maker's ruler."""

SLIT_FOOT_TOL_MM = 25.4 / 8
"""How far a slit's foot may lie from the bottom or top edge: as seams may differ."""

SEAM_MATCH_TOL_MM = 3.2
"""How far the lengths of two partner edges may differ beyond the ease: 1/8 in, more stops the work (common practice,
no source)."""

NOTCH_TOL_MM = 0.01
"""How far beyond the end of its edge a notch may lie."""

PIECE_LIMIT_MM = 5000.0
"""No piece is wider or taller."""

WRITTEN_DECIMALS = 6
"""Decimals of a millimetre in a written pattern."""

WIDEST_CHANNEL_MM = 100.0
"""A wider channel is a mistake of unit."""

MOST_PIECES = 500
MOST_EDGES = 500
MOST_SEGMENTS = 20_000
MOST_MARKS = 5_000
MOST_EXTRA_DEPTH = 12
