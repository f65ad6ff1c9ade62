"""Halving: from a change of the whole girth to what is drawn on each stitching line.

A garment is two halves, a half has n seams, a seam has two stitching lines: d is d/2 a half, d/(2n) a seam, d/(4n) a
line. Amounts are rounded to the maker's ruler; what rounding leaves is shared out, a division at a time.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

from diagnose.units import on_ruler

__all__ = ["Share", "share", "share_out"]


class Share(Struct, frozen=True):
    """A change of girth, whole and in its parts, in mm; take in is positive, let out negative."""

    whole_mm: float
    per_half_mm: float
    per_seam_mm: float | None
    per_edge_mm: float | None
    edges_mm: tuple[float, ...] = ()


def share(whole_mm: float, seams_per_half: int | None, ruler_mm: float) -> Share:
    """The parts of a change of girth.

    Args:
        whole_mm: the change of the whole girth; it is rounded so that a half comes out in whole divisions.
        seams_per_half: seams of one half; 0 or None means that it is not shared over seams.
        ruler_mm: the smallest division of the ruler.
    """
    per_half = on_ruler(whole_mm / 2, ruler_mm)
    if not seams_per_half:
        return Share(2 * per_half, per_half, None, per_edge_mm=None)
    edges = share_out(per_half, 2 * seams_per_half, ruler_mm)
    return Share(
        2 * per_half, per_half, per_half / seams_per_half, per_edge_mm=per_half / (2 * seams_per_half), edges_mm=edges
    )


def share_out(total_mm: float, lines: int, ruler_mm: float) -> tuple[float, ...]:
    """The total on so many lines in whole divisions of the ruler, no two lines differing by more than one.

    The lines in the middle of the list (the side of the body) take what is left over.
    """
    divisions = round(abs(total_mm) / ruler_mm)
    each, left = divmod(divisions, lines)
    extra = _middle_first(lines)[:left]
    sign = -1 if total_mm < 0 else 1
    return tuple(sign * (each + (i in extra)) * ruler_mm for i in range(lines))


@lru_cache(maxsize=128)
def _middle_first(lines: int) -> tuple[int, ...]:
    """The lines from the middle of the list outwards."""
    return tuple(sorted(range(lines), key=lambda i: (abs(2 * i + 1 - lines), i)))
