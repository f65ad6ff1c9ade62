"""Walking the seams after an alteration, and truing at top or bottom those that no longer match.

Partners are walked from the waist, up and then down. An arm that has come out too long or too short by more than
1/16 in is put right at its end, on the piece that was altered (where both were, on the longer): the top or bottom edge
is redrawn to it, fading to nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from diagnose.pattern.measure import SLIT_PREFIX, cut_level, edge_length, edge_point_at, seam_difference
from diagnose.pattern.nearby import place_on
from diagnose.pattern.outline import Edge, EdgeRef, Pattern, Piece, Seam
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task, point_json
from diagnose.units import INCH_MM

__all__ = ["evened"]

EVEN_MM = INCH_MM / 16
LEAST_ARM_MM = 0.4
BLEND_MM = 2 * INCH_MM
BLEND_PER_STEP = 4.0
AT_WAIST_MM = 3.2
AGAIN = 2


def evened(board: Board, before: Pattern, task: Task) -> Board:
    """The board with every seam that the alteration has made uneven trued.

    Args:
        board: the board after the alteration.
        before: the pattern before it.
        task: gives the unit for what is said.
    """
    old = board.parted(before)
    touched = {str(operation.get("piece")) for operation in board.operations}
    for _ in range(AGAIN):
        for name in [seam.name for seam in old.seams]:
            seam = next((one for one in board.pattern.seams if one.name == name), None)
            if seam is not None and _uneven(old, board.pattern, seam):
                board = _trued(board, old, seam, touched, task)
    return board


def _uneven(old: Pattern, now: Pattern, seam: Seam) -> bool:
    if seam.a == seam.b or any(ref.edge.startswith(SLIT_PREFIX) for ref in (seam.a, seam.b)):
        return False
    return abs(seam_difference(now, seam) - seam_difference(old, seam)) > EVEN_MM


def _trued(board: Board, old: Pattern, seam: Seam, touched: Collection[str], task: Task) -> Board:
    for role, longer_mm in zip(("top", "bottom"), _arms_differ(old, board.pattern, seam), strict=True):
        if abs(longer_mm) <= LEAST_ARM_MM:
            continue
        for ref, by_mm in _sides(seam, longer_mm, touched):
            made = _ended(board, ref, role, by_mm)
            if made is not None:
                way = "longer" if by_mm > 0.0 else "shorter"
                said = f"Seam {seam.name} walked: {ref.piece}/{ref.edge} is drawn {task.say(abs(by_mm))} {way}"
                board = made.say(f"{said} at the {role}.")
                break
    return board


def _sides(seam: Seam, longer_mm: float, touched: Collection[str]) -> Iterator[tuple[EdgeRef, float]]:
    """Which side to true and by how much, best first; `longer_mm` is how much longer side a has become."""
    sides = [(seam.a, -longer_mm), (seam.b, longer_mm)]
    yield from sorted(sides, key=lambda side: (side[0].piece not in touched, side[1]))


def _arms_differ(old: Pattern, now: Pattern, seam: Seam) -> tuple[float, float]:
    """How much longer side a has become than side b, over the waist and under it."""
    (a0, b0), (a1, b1) = ([_arms(pattern, ref) for ref in (seam.a, seam.b)] for pattern in (old, now))
    return (a1[0] - a0[0]) - (b1[0] - b0[0]), (a1[1] - a0[1]) - (b1[1] - b0[1])


def _arms(pattern: Pattern, ref: EdgeRef) -> tuple[float, float]:
    """The edge's length over the waist and under it; all of it counts as over where no waist meets it."""
    piece = pattern.piece(ref.piece)
    edge = piece.edge(ref.edge)
    size, at = edge_length(edge), _waist_mm(piece, edge)
    if at is None:
        return size, 0.0
    return (size - at, at) if edge.end.y > edge.start.y else (at, size - at)


def _waist_mm(piece: Piece, edge: Edge) -> float | None:
    parts = cut_level(piece, piece.levels["waist"]).parts if "waist" in piece.levels else ()
    ends = [place_on(edge.segments, end) for end in (parts[0][0], parts[-1][1])] if parts else []
    mm, off = min(ends, key=lambda found: found[1], default=(0.0, AT_WAIST_MM + 1.0))
    return mm if off <= AT_WAIST_MM else None


def _ended(board: Board, ref: EdgeRef, role: str, by_mm: float) -> Board | None:
    """The board with the edge that much longer at its top or bottom end; None where it cannot be."""
    piece = board.pattern.piece(ref.piece)
    edge = piece.edge(ref.edge)
    rises = edge.end.y > edge.start.y
    at_end = rises == (role == "top")
    index = piece.edges.index(edge)
    beside = piece.edges[(index + (1 if at_end else -1)) % len(piece.edges)]
    if beside.role != role:
        return None
    try:
        return board.do([_ending(piece, beside, by_mm, at_start=at_end)], "both")
    except NotDrawnError:
        return None


def _ending(piece: Piece, beside: Edge, by_mm: float, *, at_start: bool) -> Op:
    size = edge_length(beside)
    reach = min(size, max(BLEND_MM, BLEND_PER_STEP * abs(by_mm)))
    corner, far = (0.0, reach) if at_start else (size, size - reach)
    places = {"from": corner, "peak": corner, "to": far}
    return {
        "op": "reshape-edge", "piece": piece.name, "edge": [beside.name],
        **{key: point_json(edge_point_at(beside, mm)) for key, mm in places.items()},
        "height": abs(by_mm), "direction": "out" if by_mm > 0.0 else "in",
    }  # fmt: skip
