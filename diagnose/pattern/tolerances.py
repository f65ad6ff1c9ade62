"""How near is near enough: the tolerances that several rooms share, named for what it measures, in mm."""

from __future__ import annotations

from diagnose.units import INCH_MM

__all__ = [
    "CLOSE_TOL_MM", "FAR_MM", "FLATTEN_TOL_MM", "LEAST_AREA_MM2", "LEAST_STEP_MM",
    "LEVEL_REACH_TOL_MM", "MOST_EDGES", "MOST_EXTRA_DEPTH", "MOST_MARKS", "MOST_PIECES", "MOST_SEGMENTS",
    "NOISE_MM", "NOTABLE_MM", "NOTCH_TOL_MM", "NOTHING_MM", "ON_CORNER_MM", "ON_EDGE_MM", "ON_LINE_MM", "ON_OUTLINE_MM",
    "ON_OUTLINE_TOL_MM", "PAST_MM", "PIECE_LIMIT_MM", "ROUNDING_MM", "SAME_PLACE_MM", "SEAM_MATCH_TOL_MM",
    "SLIT_FOOT_TOL_MM", "SLIVER_MM", "WIDEST_CHANNEL_MM", "WRITTEN_DECIMALS",
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

LEVEL_REACH_TOL_MM = INCH_MM / 16
"""How far short of the outline a level may end: one mark of the maker's ruler."""

SLIT_FOOT_TOL_MM = INCH_MM / 8
"""How far a slit's foot may lie from the bottom or top edge: as seams may differ."""

SEAM_MATCH_TOL_MM = 3.2
"""How far the lengths of two partner edges may differ beyond the ease: 1/8 in, more stops the work (common practice,
no source)."""

NOTCH_TOL_MM = 0.01
"""How far beyond the end of its edge a notch may lie."""

FAR_MM = 20_000.0
"""Farther off than any paper reaches."""

NOISE_MM = 1e-6
"""What the reckoning itself may be off by."""

NOTABLE_MM = 0.01
"""A line moved by less is the same line."""

NOTHING_MM = 1e-9
"""An amount no larger is none."""

ON_CORNER_MM = 0.05
"""A place this near the end of an edge is its corner."""

ON_EDGE_MM = 0.5
"""A mark this near an edge was made on it."""

ON_LINE_MM = 1e-6
"""A point this near a line lies on it."""

ON_OUTLINE_MM = INCH_MM / 8
"""How far from the outline a place may be given that is meant to be on it."""

PAST_MM = 2.0
"""How far past the paper a line is drawn on that has to cross it."""

ROUNDING_MM = 1e-5
"""What the rounding of a written pattern may open between two lines."""

SAME_PLACE_MM = 0.01
"""Two places of an edge no farther apart are one."""

SLIVER_MM = 0.01
"""So short a piece of an edge has no direction that could be trusted: a cut so near a joint is made at the joint."""

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
