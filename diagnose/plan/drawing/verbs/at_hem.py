"""Gores and tabs at the hem, and the straps."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import partial
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.geometry.plane import along, distance
from diagnose.pattern.geometry.polylines import line_gap
from diagnose.pattern.measure import bounds, cut_level, edge_x_at, mm_of_point
from diagnose.pattern.moved.bones import SLIT_CLEARANCE_MM
from diagnose.pattern.operations import InsertGore, Strap, Tabs
from diagnose.pattern.operations.openings.tabs import NewSlit
from diagnose.pattern.outline import Pattern, Piece, Point, Slit
from diagnose.plan.drawing.board import NO_LEVEL, Board, NotDrawnError, Task
from diagnose.plan.drawing.edge_lines import edge_line
from diagnose.plan.drawing.foldline import level_point
from diagnose.plan.drawing.gussets import gore_op
from diagnose.plan.drawing.half import Half, by_halves, sewn_slits
from diagnose.plan.drawing.landing import landed
from diagnose.plan.drawing.verbs.bust_room import gussets
from diagnose.plan.drawing.verbs.moved_seams import named_amounts
from diagnose.rulebase.reading.moves import Move

__all__ = ["gores", "strap", "tabs"]

End = Literal["front", "back"]
TRIED_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
NO_ROOM = (
    "No slit for a gore was found at the side of the lower edge that runs clear of the channels up to the waist. Move a"
    " channel aside, or draw the gore by hand."
)
SHORTER = {"shallow": ("deepen", -1.0), "shorten": ("lengthen", -1.0)}
NO_TABS = "This pattern has no slits in its lower edge, so it has no tabs to alter."
NARROWER_TABS = (
    "A tab is made narrower by hand: take so much off its foot, half on each side, to nothing at the head of the slit."
)
NO_STRAP = "No strap is marked on this pattern (landmarks strap-front and strap-back). Alter the strap itself by hand."


class _Cut(Struct, frozen=True):
    """A slit that is there or is to be cut."""

    piece: Piece
    slit: Slit


def gores(move: Move, task: Task, board: Board) -> Board:
    """One or two gores let in at the side of the hem, as wide as a half is to gain; or those that are there altered."""
    if move.where != "hip" or move.what:
        return gussets(move, task, board)
    named = named_amounts(move, task)
    there = {station for piece in board.pattern.pieces for station in piece.levels}
    low = next((s for s in reversed(STATIONS) if s in there and named.get(s, task.per_half(s)) < 0.0), None)
    if low is None:
        lacking = [s for s in STATIONS if s not in there and named.get(s, task.per_half(s)) < 0.0]
        if lacking:
            raise NotDrawnError(NO_LEVEL.format(stations=" and the ".join(lacking)))
        raise NotDrawnError("There is no width to let in at the lower edge.")
    wanted = {low: named.get(low, task.per_half(low))}
    count = 1 if -wanted[low] <= task.settings.mm("gore-one-most") else 2

    def draw(amounts: Mapping[Station, float]) -> Board:
        make = partial(_gore_ops, count=count, width=-amounts[low])
        return replace(by_halves(board, task, make), girth=True)

    return landed(draw, wanted, board, task=task)


def _gore_ops(half: Half, count: int, width: float) -> list[InsertGore]:
    cuts = _cuts(half)[:count]
    if not cuts:
        raise NotDrawnError(NO_ROOM)
    return [gore_op(cut.piece, cut.slit, width / len(cuts)) for cut in cuts] if width > 0.0 else []


def _cuts(half: Half) -> list[_Cut]:
    """Where gores may go, the side first, then towards the back: slits that are there, else one in each panel."""
    line, low, high = edge_line(half, "bottom"), half.settings.mm("gore-from"), half.settings.mm("gore-to")
    found: list[tuple[float, _Cut]] = []
    for piece in half.pieces:
        for slit in piece.slits or _new_slits(piece, half.settings.mm("gore-tip-below")):
            at = line.nearest(piece.name, slit.line[0])
            if at is not None and low <= at[0] / line.size <= high:
                found.append((at[0], _Cut(piece, slit)))
    middle = (low + high) / 2.0 * line.size
    return [cut for _, cut in sorted(found, key=lambda one: abs(one[0] - middle))]


def _new_slits(piece: Piece, below_mm: float) -> Sequence[Slit]:
    """A slit from the hem to so far below the waist, as near to the middle of the panel as the channels leave room."""
    stations = [station for station in STATIONS if station in piece.levels]
    if "waist" not in stations or stations[-1] == "waist":
        return ()
    for share in TRIED_SHARES:
        waist, low = level_point(piece, "waist", share), level_point(piece, stations[-1], share)
        tip = along(waist, low, min(1.0, below_mm / distance(waist, low)))
        foot = _foot(piece, tip, low)
        slit = Slit("", (foot, tip)) if foot else None
        if slit and all(line_gap(slit.line, c.line) > c.width / 2.0 + SLIT_CLEARANCE_MM for c in piece.channels):
            return (slit,)
    return ()


def _foot(piece: Piece, tip: Point, low: Point) -> Point | None:
    """Where the line from the tip through a point of the lowest level meets the bottom edge."""
    edges = [edge for edge in piece.edges if edge.role == "bottom"]
    box = bounds(piece)
    if not edges or low.y >= tip.y or not edge_x_at(piece, tip.y):
        return None
    end = along(tip, low, (tip.y - box.bottom) / (tip.y - low.y))
    return _first_hit(piece, tip, end)


def _first_hit(piece: Piece, tip: Point, end: Point) -> Point | None:
    parts = cut_level(piece, (tip, end)).parts
    if not parts:
        return None
    foot = parts[0][1]
    near = min((mm_of_point(edge, foot)[1], edge.role) for edge in piece.edges)
    return foot if near[1] == "bottom" else None


def tabs(move: Move, task: Task, board: Board) -> Board:
    """The tabs of every piece that has some flared, deepened, lengthened or one more cut."""
    what, sign = SHORTER.get(move.what, (move.what, 1.0))
    amount = sign * task.length_mm
    make = partial(_tab_ops, what=what, amount=amount, sewn=sewn_slits(board.pattern))
    done = by_halves(board, task, make)
    if done is board and task.length_mm:
        raise NotDrawnError(NO_TABS)
    return replace(done, girth=what in ("flare", "add"))


def _tab_ops(half: Half, what: str, amount: float, sewn: Collection[tuple[str, str]]) -> list[Tabs]:
    if not amount:
        return []
    tabbed = [piece for piece in half.pieces if any(_parts_tabs(piece, slit, sewn) for slit in piece.slits)]
    if tabbed and what == "flare" and amount < 0.0:
        raise NotDrawnError(NARROWER_TABS)
    return [_tabs_changed(half, piece, what, amount=amount) for piece in tabbed]


def _parts_tabs(piece: Piece, slit: Slit, sewn: Collection[tuple[str, str]]) -> bool:
    """Whether the slit is cut from the lower edge and no gore is let into it."""
    near = min((mm_of_point(edge, slit.line[0])[1], edge.role) for edge in piece.edges)
    return near[1] == "bottom" and (piece.name, slit.name) not in sewn


def _tabs_changed(half: Half, piece: Piece, what: str, amount: float) -> Tabs:
    match what:
        case "add":
            return Tabs(piece=piece.name, add=(_one_more(half, piece),))
        case "deepen":
            return Tabs(piece=piece.name, deepen=amount)
        case "lengthen":
            return Tabs(piece=piece.name, lengthen=amount)
        case _:
            return Tabs(piece=piece.name, flare=amount)


def _one_more(half: Half, piece: Piece) -> NewSlit:
    """A slit in the middle of the widest tab."""
    line = edge_line(half, "bottom")
    own = [one for one in line.stretches if one.piece == piece.name]
    begin, end = own[0].begin, own[-1].end
    feet = [at[0] for slit in piece.slits if (at := line.nearest(piece.name, slit.line[0]))]
    stops = sorted([begin, *feet, end])
    width, start = max((b - a, a) for a, b in pairwise(stops))
    return NewSlit(along=start + width / 2.0 - begin)


def strap(move: Move, task: Task, board: Board) -> Board:
    """The strap lengthened, widened, or an end of it moved toward the middle."""
    amount = task.length_mm
    if not amount:
        return board
    what = move.what
    if what == "move":
        end: End = "front" if move.end == "front" else "back"
        make = partial(_moved_ops, end=end, amount=amount)
        return by_halves(board, task, make)
    signed = -amount if task.item.alteration.direction == "shorter" else amount
    own = _strap_piece(board.pattern)
    if own is not None:
        return board.do([_strap_changed(own, what, signed)], task.side)
    return by_halves(board, task, partial(_end_ops, what=what, amount=signed))


def _strap_piece(pattern: Pattern) -> str | None:
    """The strap's own piece: one that no level crosses and that is sewn to nothing."""
    sewn = {ref.piece for seam in pattern.seams for ref in seam.refs}
    return next((p.name for p in pattern.pieces if not p.levels and p.name not in sewn), None)


def _fixings(half: Half, ends: Sequence[End]) -> tuple[Piece, End]:
    for end in ends:
        for piece in half.pieces:
            if f"strap-{end}" in piece.landmarks:
                return piece, end
    raise NotDrawnError(NO_STRAP)


def _moved_ops(half: Half, end: End, amount: float) -> list[Strap]:
    """The back end moves toward centre back, the front end toward centre front."""
    piece, end = _fixings(half, (end,))
    return [Strap(piece=piece.name, end=end, move=amount if end == "back" else -amount)]


def _end_ops(half: Half, what: str, amount: float) -> list[Strap]:
    piece, end = _fixings(half, ("front", "back"))
    return [_strap_changed(piece.name, what, amount, end=end)]


def _strap_changed(piece: str, what: str, amount: float, end: End | None = None) -> Strap:
    if what == "widen":
        return Strap(piece=piece, end=end, widen=amount)
    return Strap(piece=piece, end=end, lengthen=amount)
