"""Shapes that are moved and not made larger or smaller: the bust, the waist, the curve of the front edge."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import pairwise

from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.in_words import piece_first, piece_words
from diagnose.pattern.measure import bounds
from diagnose.pattern.moved.shift import is_straight
from diagnose.pattern.operations import Marks, MoveEdge, Tabs
from diagnose.pattern.operations.channels import Shifted
from diagnose.pattern.operations.redrawn_marks import LevelShift
from diagnose.pattern.outline import STIFF_ROLES, EdgeRef, Point
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.half import Half, by_halves, front_edges, halves_of, sewn_slits
from diagnose.plan.drawing.named_places import no_bust_seam, seams_named
from diagnose.plan.drawing.slides import Upright
from diagnose.rulebase.reading.moves import Move
from diagnose.sentences import listed
from diagnose.units import on_ruler

__all__ = ["apex_place", "bust_shift", "front_straight", "side_parts", "waist_slide"]

SLIDE_PER_MM = 4.0
STRAIGHT_PLACES = 24
NO_BUST_SEAM = "{why} So no seam carries the shape of the bust, and there is none to move."
NO_WAIST = "{piece} has no waist drawn on it. Draw the string's line on it by hand."
SIDE_STRING = (
    "The waist is drawn {much} {way} at the side, less and less to nothing at centre front and at the lacing edge:"
    " where the string showed something else on a panel, draw that."
)
HEADS = "Bring the heads of the tab slits of {pieces} to the new waist line."
TAPE = "The half is cut in one piece: no seam is bent, the waist's own line is; the waist tape follows it."
FRONT_STRAIGHT = "The front edge is straight on the paper already: look to the busk itself."
NO_SEAM_BESIDE = (
    "This half is cut in one piece: what a straight front edge gains or loses has no seam to go to. Lay the edge to a"
    " rule by hand and take the difference out at the lacing edge."
)


def bust_shift(move: Move, task: Task, board: Board) -> Board:
    """The fullness of the bust seam slid up or down, or the seam itself toward the side or the front."""
    if not task.length_mm:
        return board
    make = partial(_shift_ops, by_mm=task.length_mm, upwards=move.way == "up-down")
    return replace(by_halves(board, task, make), girth=True)


def _shift_ops(half: Half, by_mm: float, upwards: bool) -> list[Op]:
    joins = seams_named(half, "bust")
    if not joins:
        raise NotDrawnError(NO_BUST_SEAM.format(why=no_bust_seam(half)))
    made: list[Op] = []
    for join in joins[0]:
        for ref, sign in ((join.front, -1.0), (join.back, 1.0)):
            edge = _upright(half, ref)
            low, apex = _root(edge), apex_place(half, edge)
            if upwards:
                made += edge.slid(low, apex, edge.size, up_mm=by_mm)
            else:
                made += edge.moved([(low, 0.0), (apex, sign * by_mm), (edge.size, 0.0)])
    if not made:
        raise NotDrawnError("The bust seam is straight over the breast on both panels: it has no shape to move.")
    by = Point(0.0, by_mm) if upwards else Point(by_mm, 0.0)
    marked = [piece for piece in half.pieces if "bust-point" in piece.landmarks]
    return [*made, *(Marks(piece=piece.name, landmarks=(Shifted(name="bust-point", by=by),)) for piece in marked)]


def _upright(half: Half, ref: EdgeRef) -> Upright:
    piece = half.piece(ref.piece)
    return Upright(piece, piece.edge(ref.edge))


def _root(edge: Upright) -> float:
    """Where the bust ends below: the underbust, else the waist, else the lower end."""
    found = (edge.station(station) for station in ("underbust", "waist"))
    return next((u for u in found if u is not None), 0.0)


def apex_place(half: Half, edge: Upright) -> float:
    """The place of the fullest point on the edge of a bust seam: beside the landmark, else where it is fullest."""
    low = _root(edge)
    marks = [piece.landmarks["bust-point"] for piece in half.pieces if "bust-point" in piece.landmarks]
    own = edge.piece.landmarks.get("bust-point")
    point = own if own is not None else next(iter(marks), None)
    u = edge.place(point) if point is not None else low
    return u if low + 1.0 < u < edge.size - 1.0 else edge.fullest(low, edge.size)


def waist_slide(move: Move, task: Task, board: Board) -> Board:
    """The narrowest place of each panel slid along its seams: all of it at the side, nothing at front and back."""
    up_mm = task.length_mm
    if not up_mm:
        return board
    make = partial(_waist_ops, up_mm=up_mm, ruler_mm=task.settings.ruler_mm)
    done = by_halves(board, task, make)
    done = _heads_brought(done, task, up_mm)
    way = "higher" if up_mm > 0.0 else "lower"
    done = done.say(SIDE_STRING.format(much=task.say(abs(up_mm)), way=way))
    tape = () if halves_of(board.pattern, task.side, task.settings)[0].seams else (TAPE,)
    return replace(done.say(*tape), girth=True)


def _heads_brought(board: Board, task: Task, up_mm: float) -> Board:
    """The heads of the tab slits brought to the new waist; where a channel or a gore stands in the way, by hand."""
    slitted = [
        piece.name
        for half in halves_of(board.pattern, task.side, task.settings)
        for piece in half.pieces
        if piece.slits
    ]
    if not slitted:
        return board
    make = partial(_head_ops, sewn=sewn_slits(board.pattern), up_mm=up_mm, ruler_mm=task.settings.ruler_mm)
    try:
        return by_halves(board, task, make)
    except NotDrawnError:
        return board.say(HEADS.format(pieces=listed([piece_words(name) for name in dict.fromkeys(slitted)])))


def _head_ops(half: Half, sewn: set[tuple[str, str]], up_mm: float, ruler_mm: float) -> list[Op]:
    """Each slit made as much deeper as the waist over it has gone up; one with a gore in it stays."""
    ends = list(pairwise(side_parts(half))) if half.seams else []
    made: list[Op] = []
    for n, piece in enumerate(half.pieces):
        box = bounds(piece)
        for slit in piece.slits:
            share = (slit.line[-1].x - box.left) / (box.right - box.left)
            part = ends[n][0] + (ends[n][1] - ends[n][0]) * share if ends else 1.0 - abs(2.0 * share - 1.0)
            by_mm = on_ruler(up_mm * part, ruler_mm)
            if by_mm and (piece.name, slit.name) not in sewn:
                made.append(Tabs(piece=piece.name, slits=(slit.name,), deepen=by_mm))
    return made


def _waist_ops(half: Half, up_mm: float, ruler_mm: float) -> list[Op]:
    if not half.seams:
        (piece,) = half.pieces
        if "waist" not in piece.levels:
            raise NotDrawnError(NO_WAIST.format(piece=piece_first(piece.name)))
        return [Marks(piece=piece.name, levels=(LevelShift(station="waist", front=0.0, back=0.0, middle=up_mm),))]
    amounts = [on_ruler(up_mm * part, ruler_mm) for part in side_parts(half)]
    made: list[Op] = []
    for joins, by_mm in zip(half.seams, amounts[1:-1], strict=True):
        for ref in (ref for join in joins for ref in join):
            made += _waist_slid(_upright(half, ref), by_mm)
    for piece, front, back in zip(half.pieces, amounts, amounts[1:], strict=False):
        if "waist" in piece.levels and (front or back):
            level = LevelShift(station="waist", front=front, back=back)
            made.append(Marks(piece=piece.name, levels=(level,)))
    return made


def side_parts(half: Half) -> list[float]:
    """For centre front, each seam and centre back: 1 at the side seam, evenly less to nothing at front and back."""
    shares = half.shares()
    side = min(shares, key=lambda share: abs(share - 0.5))
    return [0.0, *(share / side if share <= side else (1.0 - share) / (1.0 - side) for share in shares), 0.0]


def _waist_slid(edge: Upright, up_mm: float) -> list[MoveEdge]:
    waist = edge.station("waist")
    if waist is None or not up_mm:
        return []
    arm = SLIDE_PER_MM * abs(up_mm)
    over, under = (
        [u for station in stations if (u := edge.station(station)) is not None]
        for stations in (("underbust", "top"), ("hip", "bottom"))
    )
    # The nearest level that leaves the slide room enough to be drawn fair; else the edge's own end.
    low = next((u for u in under if waist - u >= arm), 0.0)
    high = next((u for u in over if u - waist >= arm), edge.size)
    return edge.slid(low, waist, high, up_mm=up_mm, least_mm=arm) if low < waist < high else []


def front_straight(move: Move, task: Task, board: Board) -> Board:
    """The front edge laid straight through its widest points; the next seam takes the difference over."""
    return replace(by_halves(board, task, partial(_front_ops)), girth=True)


def _front_ops(half: Half) -> list[MoveEdge]:
    piece = half.pieces[0]
    found = [edge for edge in front_edges(piece) if edge.role in STIFF_ROLES]
    if not found:
        raise NotDrawnError("No edge of this pattern is marked as its front edge. Lay it to a rule by hand.")
    if all(is_straight(edge) for edge in found):
        raise NotDrawnError(FRONT_STRAIGHT)
    if not half.seams:
        raise NotDrawnError(NO_SEAM_BESIDE)
    front = Upright(piece, max(found, key=lambda edge: Upright(piece, edge).size))
    made = front.moved([(u, front.inwards(u, 0.0, front.size) * -1.0 - widest) for u, widest in _places(front)])
    return made + [op for join in half.seams[0] for op in _taken_over(_upright(half, join.front), front)]


def _places(front: Upright) -> Iterator[tuple[float, float]]:
    """Places of the edge, each with how far the widest lies outwards of the line between its ends."""
    places = [front.size * i / STRAIGHT_PLACES for i in range(STRAIGHT_PLACES + 1)]
    widest = max(0.0, *(-front.inwards(u, 0.0, front.size) for u in places))
    yield from ((u, widest) for u in places)


def _taken_over(seam: Upright, front: Upright) -> list[MoveEdge]:
    """The next seam moved in by what the front edge has moved out, at every station the two share."""
    widest = next(_places(front))[1]
    amounts = []
    for station in STATIONS:
        here, there = seam.station(station), front.station(station)
        if here is not None and there is not None:
            amounts.append((here, front.inwards(there, 0.0, front.size) + widest))
    return seam.moved(sorted(amounts))
