"""Straight lines drawn within pieces: levels, channels and the grain, where they are plain."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.pattern.brought.drawings.sketch import Stroke
from diagnose.pattern.brought.photo.lens import Array
from diagnose.pattern.brought.photo.straightening import Straightened
from diagnose.pattern.outline import Segment

__all__ = ["inner_lines"]


def inner_lines(flat: Straightened, rings: Sequence[Array], outlines: Sequence[Sequence[Segment]]) -> list[Stroke]:
    """The straight lines within the pieces."""
    return []
