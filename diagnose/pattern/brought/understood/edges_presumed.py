"""The edges of an outline between its corners, and what they are called as far as it can be presumed.

Counter-clockwise from the bottom front corner: the bottom, the back, the top, the front.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from diagnose.pattern.brought.drawings.corners import FourCorners, corners_of, cut_at, four_corners
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.brought.drawings.outlines import Outline
from diagnose.pattern.brought.naming import apart_by_number
from diagnose.pattern.brought.told import told_edges
from diagnose.pattern.outline import (
    END_ROLES,
    ROLES,
    STIFF_ROLES,
    Edge,
    Point,
    Role,
    Segment,
)

__all__ = [
    "EDGE_NAMES", "LEAST_EDGES", "corner_sides", "edge_name", "named_edges", "parted_outline", "plain_role",
    "run_between", "sided", "sides_of", "told_four",
]  # fmt: skip

LEAST_EDGES = 3

EDGE_NAMES: Mapping[str, str] = {
    "bottom": "hem", "back": "back-seam", "top": "top-edge", "front": "front-seam", "lacing": "centre-back",
    "fold": "centre-front", "opening": "centre-front",
}  # fmt: skip


def run_between(ring: Ring, breaks: Sequence[int], n: int) -> tuple[Segment, ...]:
    """The segments from one break of the ring to the next."""
    first, last = breaks[n], breaks[(n + 1) % len(breaks)]
    return ring.segments[first:last] if first < last else (*ring.segments[first:], *ring.segments[:last])


def plain_role(side: str) -> Role:
    """The role of an edge of which nothing is told but on which side of the piece it lies."""
    return next((role for role in END_ROLES if role == side), "seam")


def sided(count: int, four: tuple[int, ...]) -> tuple[str, ...]:
    """For each of `count` edges from the bottom front corner, the side it is part of."""
    _, bottom_back, top_back, top_front = four
    return tuple(
        "bottom" if n < bottom_back else "back" if n < top_back else "top" if n < top_front else "front"
        for n in range(count)
    )


def corner_sides(corners: Sequence[Point]) -> tuple[str, ...]:
    """For each edge, begun at one of the corners, the side it is part of; empty where that can't be told."""
    four = four_corners(corners)
    if four is None:
        return ("",) * len(corners)
    count = len(corners)
    found = sided(count, tuple((n - four.bottom_front) % count for n in four))
    return tuple(found[(n - four.bottom_front) % count] for n in range(count))


def sides_of(edges: Sequence[Edge]) -> tuple[str, ...]:
    """For each edge the side it is part of: by the roles bottom and top where both are given, else by its corners."""
    roles = [edge.role for edge in edges]
    if "bottom" not in roles or "top" not in roles:
        return corner_sides([edge.start for edge in edges])
    sides, last = [""] * len(edges), ""
    for n in (*range(len(edges)), *range(len(edges))):
        if roles[n] in END_ROLES:
            sides[n] = last = str(roles[n])
        elif last:
            sides[n] = "back" if last == "bottom" else "front"
    return tuple(sides)


def parted_outline(outline: Outline) -> tuple[Ring, tuple[int, ...], list[str], list[str]]:
    """Where the ring's edges begin, and the names and roles the drawing gives them (empty where it gives none)."""
    ring, breaks, names, roles = _as_told(outline) if outline.corners else _as_drawn(outline)
    kept = [k for k, n in enumerate(breaks) if ring.segments[n].start not in outline.smooth]
    return ring, tuple(breaks[k] for k in kept), [names[k] for k in kept], [roles[k] for k in kept]


def told_four(corners: Sequence[Point]) -> FourCorners | None:
    """Of four corners round the outline, which is which; None where they are no more four."""
    if len(corners) != len(FourCorners._fields):
        return None
    first = min(range(4), key=lambda n: corners[n].x + corners[n].y)
    return FourCorners(*((first + n) % 4 for n in range(4)))


def _as_told(outline: Outline) -> tuple[Ring, tuple[int, ...], list[str], list[str]]:
    """The ring's parts between the corners that are said."""
    ring, places = outline.ring, set[Point]()
    for spot in outline.corners:
        ring, number = cut_at(ring, spot)
        places.add(ring.segments[number].start)
    breaks = tuple(n for n, segment in enumerate(ring.segments) if segment.start in places)
    return ring, breaks, [""] * len(breaks), [""] * len(breaks)


def _as_drawn(outline: Outline) -> tuple[Ring, tuple[int, ...], list[str], list[str]]:
    """The ring's parts before any of its corners is said to be none."""
    ring = outline.ring
    counted = _counted(ring)
    if counted is not None:
        return ring, *counted
    if any(owner.part or owner.data.get("role") for owner in ring.owners):
        return _by_strokes(ring, whole=ring.is_stored)
    breaks = corners_of(ring) or (0,)
    return ring, breaks, [""] * len(breaks), [""] * len(breaks)


def _counted(ring: Ring) -> tuple[tuple[int, ...], list[str], list[str]] | None:
    """Edges told by the outline's own data ``edges``: words ``NAME:ROLE:STEPS``, in order from its first step."""
    told = told_edges(ring.owners[0].data)
    if ring.is_turned:
        told = told[::-1]
    steps = [edge.steps for edge in told]
    breaks = tuple(sum(steps[:n]) for n in range(len(steps)))
    if sum(steps) != len(ring.segments):
        breaks = corners_of(ring)  # points were set or taken out since: its corners may still be as many
    if not told or len(breaks) != len(told) or breaks[0] != 0:
        return None
    return breaks, [edge.name for edge in told], [edge.role for edge in told]


def _by_strokes(ring: Ring, *, whole: bool) -> tuple[Ring, tuple[int, ...], list[str], list[str]]:
    """Edges as the drawing's own lines name them; where it names none, or too few, as its corners part them."""
    told = [(owner.part, owner.data.get("role", "")) for owner in ring.owners]
    few = len(set(told)) < LEAST_EDGES and not whole
    corners = set(corners_of(ring))
    parted = (n for n, one in enumerate(told) if told[n - 1] != one or (n in corners and (few or not one[0])))
    breaks = tuple(parted) or (0,)
    return ring, breaks, [told[n][0] for n in breaks], [told[n][1] if told[n][1] in ROLES else "" for n in breaks]


def named_edges(edges: Sequence[Edge], sides: Sequence[str]) -> tuple[Edge, ...]:
    """The edges, those without a name called after their side; no two of one name."""
    names = apart_by_number([edge.name or edge_name(edge.role, side) for edge, side in zip(edges, sides, strict=True)])
    return tuple(replace(edge, name=name) for edge, name in zip(edges, names, strict=True))


def edge_name(role: str, side: str) -> str:
    """What an edge is called by its role and its side: what closes or is folded is the centre of that side."""
    if role in STIFF_ROLES and side in ("front", "back"):
        return f"centre-{side}"
    named = (role, side) if role in ("lacing", "fold", "opening", "top", "bottom") else (side,)
    return next((EDGE_NAMES[one] for one in named if one in EDGE_NAMES), "edge")
