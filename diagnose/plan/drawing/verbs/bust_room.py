"""Room for the bust over its seam, in width and length together; and the gussets set into the top edge."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from diagnose.gap.shares import share_out
from diagnose.pattern.geometry.plane import add, distance, scaled, sub, unit
from diagnose.pattern.measure import cut_level, mm_of_point
from diagnose.pattern.operations import Fold, MoveEdge, RecutGore
from diagnose.pattern.operations.move_edge import from_end_to_end
from diagnose.pattern.outline import Edge, EdgeRef, Pattern, Piece, Point, Role
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.cross_folds import fold_across
from diagnose.plan.drawing.half import Half, by_halves, halves_of
from diagnose.plan.drawing.named_places import no_bust_seam, seams_named
from diagnose.plan.drawing.slides import Upright
from diagnose.plan.drawing.verbs.slid_shapes import apex_place
from diagnose.rulebase.reading.moves import Move
from diagnose.units import on_ruler

__all__ = ["bust_over_seam", "gussets"]

RIGHT_ACROSS_MM = 2000.0
NO_SEAM = "{why} Slash over the root of the breast and spread the paper there instead, or fold it."
LENGTH = "At the fullest point {much} of length is {done} the two panels of the bust seam, to the width of {wide}."
TO_THE_TOP = (
    "The top edge is so near that {much} of the width in the half is {done} there too: run out to nothing in so short a"
    " way, the seam would hook."
)
NO_GUSSET = "No bust gusset is drawn on this pattern: a piece sewn into a slit of the top edge."
STOOD_OFF = "The width taken out of the gores stood off the body, so the gap is foreseen to stay as it was read."
NO_GORE = "No hip gore is drawn on this pattern: a piece sewn into a slit of the lower edge. Draw its legs by hand."


def bust_over_seam(move: Move, task: Task, board: Board) -> Board:
    """Length let in (or lapped) across both panels at the fullest point, and width at their seam."""
    enlarge = move.way == "enlarge"
    wide = abs(task.length_mm)
    long = on_ruler(wide * move.length_part, task.settings.ruler_mm)
    if not wide:
        return board
    sign = -1.0 if enlarge else 1.0
    done = by_halves(board, task, partial(_length_ops, amount=sign * long))
    halves = share_out(sign * wide, 2, task.settings.ruler_mm)
    done = by_halves(done, task, partial(_width_ops, amounts=halves))
    said = LENGTH.format(much=task.say(long), done="let into" if enlarge else "lapped out of", wide=task.say(wide))
    done = done.say(said)
    at_top = sum(map(abs, _at_top(halves_of(board.pattern, task.side, task.settings)[0], halves)))
    if at_top >= task.settings.ruler_mm:
        kept = task.say(on_ruler(at_top, task.settings.ruler_mm))
        done = done.say(TO_THE_TOP.format(much=kept, done="let out" if enlarge else "taken in"))
    return replace(done, girth=True)


def _sides(half: Half) -> tuple[Upright, Upright]:
    """The bust seam's edge on the panel before it and on the panel behind it: its upper part, where it is in parts."""
    joins = seams_named(half, "bust")
    if not joins:
        raise NotDrawnError(NO_SEAM.format(why=no_bust_seam(half)))
    over = [join for join in joins[0] if any(_reaches(half, join.front, station) for station in ("top", "underbust"))]
    front, back = max(over or joins[0], key=lambda join: half.piece(join.front.piece).edge(join.front.edge).end.y)
    pieces = half.piece(front.piece), half.piece(back.piece)
    return Upright(pieces[0], pieces[0].edge(front.edge)), Upright(pieces[1], pieces[1].edge(back.edge))


def _reaches(half: Half, ref: EdgeRef, station: str) -> bool:
    piece = half.piece(ref.piece)
    return Upright(piece, piece.edge(ref.edge)).station(station) is not None


def _apexes(half: Half) -> tuple[float, float]:
    """The fullest point's place on both edges: as far above the waist on the one as on the other."""
    front, back = _sides(half)
    waists = [edge.station("waist") or 0.0 for edge in (front, back)]
    if "bust-point" in front.piece.landmarks:
        up = apex_place(half, front) - waists[0]
    else:
        up = apex_place(half, back) - waists[1]
    return waists[0] + up, waists[1] + up


def _length_ops(half: Half, amount: float) -> list[Fold]:
    """All of it across the front panel (to nothing where a seam lies before it), and to nothing behind the other."""
    if not amount:
        return []
    front, back = _sides(half)
    at_front, at_back = _apexes(half)
    first = front.piece is half.pieces[0]
    spread, wedge = (_level_through(edge.piece, edge.point(u)) for edge, u in ((front, at_front), (back, at_back)))
    return [
        fold_across(front.piece, spread[1], spread[0], at_start=amount, at_end=amount if first else 0.0),
        fold_across(back.piece, wedge[1], wedge[0], at_start=0.0, at_end=amount),
    ]


def _level_through(piece: Piece, point: Point) -> tuple[Point, Point]:
    """Where a line through the point, level with the waist, meets the front and the back of the piece."""
    level = piece.levels.get("waist") or next(iter(piece.levels.values()))
    way = scaled(unit(sub(level[-1], level[0])), RIGHT_ACROSS_MM)
    parts = cut_level(piece, (sub(point, way), add(point, way))).parts
    return parts[0][0], parts[-1][1]


def _width_ops(half: Half, amounts: tuple[float, ...]) -> list[MoveEdge]:
    """Both edges of the seam moved at the fullest point, to nothing at the underbust and, far off, at the top."""
    made: list[MoveEdge] = []
    for edge, u, amount, top in zip(_sides(half), _apexes(half), amounts, _at_top(half, amounts), strict=True):
        roots = (edge.station(s) for s in ("underbust", "waist"))
        low = next((at for at in roots if at is not None and u - at >= half.settings.mm("bust-root-below")), 0.0)
        made += edge.moved([(low, 0.0), (u, amount), (edge.size, top)])
    return made


def _at_top(half: Half, amounts: tuple[float, ...]) -> list[float]:
    """What is left of the amounts at the top of either edge, by how far from its fullest point that is."""
    rooms = [edge.size - u for edge, u in zip(_sides(half), _apexes(half), strict=True)]
    times = half.settings.mm("bust-runs-out")
    parts = [max(0.0, 1.0 - min(rooms) / (times * abs(mm))) if mm else 0.0 for mm in amounts]
    return [mm * part for mm, part in zip(amounts, parts, strict=True)]


def gussets(move: Move, task: Task, board: Board) -> Board:
    """Each gusset of the top edge, or each gore of the lower, wider or narrower by its legs; or longer, shorter."""
    role: Role = "bottom" if move.where == "hip" else "top"
    board = board.parted(_with_their_slits(board.pattern, role), task.side)
    legs_of = _gussets(board.pattern, role)
    own = [name for name in legs_of if task.side == "both" or board.pattern.piece(name).side in ("both", task.side)]
    if not own:
        raise NotDrawnError(NO_GUSSET if role == "top" else NO_GORE)
    what = move.what or "narrow"
    if what == "lengthen":
        made: list[Op] = [RecutGore(piece=name, lengthen=task.length_mm, keep="angle") for name in own]
        return replace(board.do(made, task.side), girth=True)
    if what == "tip":
        made = [RecutGore(piece=name, lengthen=-task.length_mm) for name in own]
        return replace(board.do(made, task.side), girth=True)
    if what == "swing":
        return board.do([RecutGore(piece=name, lengthen=0.0, swing=task.length_mm) for name in own], task.side)
    amount = abs(task.length_mm) * (1.0 if what == "narrow" else -1.0)
    if role == "bottom" and what == "widen":
        amount = on_ruler(amount / len(own), task.settings.ruler_mm)  # what a half lacks is shared among its gores
    legs = share_out(amount, 2, task.settings.ruler_mm)
    moved = [
        op
        for name in own
        for edge, mm in zip(legs_of[name], legs, strict=True)
        for op in _leg_moved(board.pattern.piece(name), edge, mm, role=role)
    ]
    done = board.do(moved, task.side)
    stood_off = role == "bottom" and what == "narrow"
    return done.say(STOOD_OFF) if stood_off else replace(done, girth=True)


def _with_their_slits(pattern: Pattern, role: Role) -> list[Piece]:
    """The gussets and the pieces whose slits they are let into: one side's slit is altered with its gusset."""
    names = set(_gussets(pattern, role))
    sewn = [seam.pieces for seam in pattern.seams]
    slitted = set[str]().union(*(pair for pair in sewn if pair & names))
    return [piece for piece in pattern.pieces if piece.name in names | slitted]


def _gussets(pattern: Pattern, role: Role) -> dict[str, list[str]]:
    """The pieces sewn by two legs into a slit of a top or bottom edge, with the names of the legs."""
    found: dict[str, list[str]] = {}
    for leg, lips, _ in pattern.in_slits:
        if _role_at(pattern, lips) == role:
            found.setdefault(leg.piece, []).append(leg.edge)
    return {name: legs for name, legs in found.items() if len(legs) == 2}


def _role_at(pattern: Pattern, lips: EdgeRef) -> Role:
    piece = pattern.piece(lips.piece)
    foot = next(slit.line[0] for slit in piece.slits if slit.name == lips.slit)
    return min(piece.edges, key=lambda edge: mm_of_point(edge, foot)[1]).role


def _leg_moved(piece: Piece, name: str, mm: float, role: Role) -> list[MoveEdge]:
    edge = piece.edge(name)
    if not mm:
        return []
    tip_first = _tip_at_start(piece, edge, role)
    first, last = (0.0, mm) if tip_first else (mm, 0.0)
    return [MoveEdge(piece=piece.name, edge=name, by=from_end_to_end(first, last))]


def _tip_at_start(piece: Piece, edge: Edge, role: Role) -> bool:
    """Whether the leg begins at the tip: farther from the gusset's free edge than it ends."""
    top = next(one for one in piece.edges if one.role == role)
    return min(distance(edge.start, p) for p in (top.start, top.end)) > min(
        distance(edge.end, p) for p in (top.start, top.end)
    )
