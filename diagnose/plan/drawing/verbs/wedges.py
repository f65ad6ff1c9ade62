"""Cutting across: the wedge at the back, the slash over the bust; left and right parted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Literal

from msgspec.structs import replace

from diagnose.gap.shares import share_out
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.geometry.plane import along, distance, dot, sub, unit
from diagnose.pattern.in_words import piece_first
from diagnose.pattern.measure import cut_level, station_ends
from diagnose.pattern.operations import Dart, Fold, MoveEdge, SplitSides
from diagnose.pattern.operations.move_edge import from_end_to_end
from diagnose.pattern.outline import Pattern, Piece, Point
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.cross_folds import ABOVE_LEVEL_MM, fold_across, wedge_over
from diagnose.plan.drawing.edge_lines import edge_line
from diagnose.plan.drawing.foldline import best_line
from diagnose.plan.drawing.half import Half, by_halves, closing_edge, halves_of, seam_sides
from diagnose.plan.drawing.named_places import NOT_TO_BACK, place_named, seams_named
from diagnose.plan.drawing.verbs.moved_seams import follows, move_ops
from diagnose.rulebase.reading.moves import Move
from diagnose.units import on_ruler

__all__ = ["back_wedge", "bust_slash", "split_all"]

NO_HINGE = (
    "The half is cut in one piece, so a wedge from the lacing edge has no side seam to turn about. Pinch it out on the"
    " toile and draw it by hand, or have the back bones bent to the hollow."
)
NOT_GIVEN_BACK = (
    "There is no seam at which to give back what straightening the lacing edge changed at the top, {much} in the half:"
    " read the gap there again."
)

AT_WAIST = (
    "In a half cut in one piece the slash has to hinge at the hem, so the waist comes out {much} {way} in the half,"
    " with no seam to take that back: read the gap there again."
)


def split_all(move: Move, task: Task, board: Board) -> Board:
    """Every pair of the half parted into a left and a right piece."""
    names = [piece.name for piece in board.pattern.pieces if piece.side == "both" and piece.copies == 2]
    if not names:
        return board.say("Left and right are already drawn apart.")
    done = board.do([SplitSides(piece=name) for name in names], "both")
    return done.say("Left and right are drawn apart. Draw the side's own difference on its pieces by hand.")


def back_wedge(move: Move, task: Task, board: Board) -> Board:
    """A wedge from the lacing edge to nothing at the side; the lacing edge straight again, the next seam restored."""
    station = move.station
    amount = task.length_mm if move.way == "out" else -task.length_mm
    before = board.pattern
    board = by_halves(board, task, partial(_wedge_ops, station=station, amount=amount))
    lean = _lean_mm(before, board, task)
    board = by_halves(board, task, partial(_straight_ops, lean=lean))
    lost = _lost_mm(before, board, task)
    make = partial(_restore_ops, lost=lost, ruler_mm=task.settings.ruler_mm)
    back = by_halves(board, task, make)
    if back is board and lost.get("top"):
        back = back.say(NOT_GIVEN_BACK.format(much=task.say(abs(lost["top"]))))
    return replace(back, girth=True)


def _lost_mm(before: Pattern, board: Board, task: Task) -> dict[Station, float]:
    """What one half has lost at each station over the waist, on the maker's ruler."""
    over_waist = STATIONS[: STATIONS.index("waist")]
    changes = {station: board.change_mm(before, station) for station in over_waist}
    return {s: on_ruler(mm / task.halves, task.settings.ruler_mm) for s, mm in changes.items() if mm is not None}


def _wedge_ops(half: Half, station: Station, amount: float) -> Sequence[Op]:
    """A fold in each piece behind the side seam, from its share of the amount to the next piece's."""
    if not amount:
        return []
    if not half.to_back:
        raise NotDrawnError(NOT_TO_BACK)
    if len(half.pieces) == 1:
        return [_wedge_to_armhole(half, station, amount)]
    side = seams_named(half, "side")[0][0].back.piece
    first = next(index for index, piece in enumerate(half.pieces) if piece.name == side)
    return wedge_over(half.pieces[first:], station, at_front=0.0, at_back=amount)


def _wedge_to_armhole(half: Half, station: Station, amount: float) -> Fold:
    """In a half cut in one piece the wedge runs out in the armhole."""
    piece = half.pieces[0]
    ends = station_ends(piece, station)
    if ends is None:
        raise NotDrawnError(NO_HINGE)
    place = place_named(half, "underarm")
    return fold_across(piece, ends[1], place.point(place.peak), at_start=amount, at_end=0.0)


def _lean_mm(before: Pattern, board: Board, task: Task) -> float:
    """How far the top of the lacing edge now stands beyond its old line, on the maker's ruler; outwards positive."""
    half = halves_of(board.pattern, task.side, task.settings)[-1]
    old = halves_of(before, task.side, task.settings)[-1]
    now, was = closing_edge(half, lacing=False), closing_edge(old, lacing=False)
    if now is None or was is None:
        return 0.0
    way = unit(sub(was[1][-1].end, was[1][0].start))
    outward = Point(way.y, -way.x)
    return on_ruler(dot(sub(now[1][-1].end, was[1][0].start), outward), task.settings.ruler_mm)


def _straight_ops(half: Half, lean: float) -> list[Op]:
    found = closing_edge(half, lacing=False)
    if found is None or not lean:
        return []
    piece, edges = found
    first, *on = (edge.name for edge in edges)
    by = from_end_to_end(0.0, lean)
    return [
        MoveEdge(
            piece=piece.name,
            edge=first,
            by=by,
            on=tuple(on),
            channels=follows(piece, edges, half.settings.mm("bone-beside-seam")),
        )
    ]


def _restore_ops(half: Half, lost: Mapping[Station, float], ruler_mm: float) -> list[Op]:
    """What was lost over the waist, put on again at the seam before the lacing edge, from nothing at the waist."""
    if not half.seams or not any(lost.values()):
        return []
    made: list[Op] = []
    shares = {station: share_out(-mm, 2, ruler_mm) for station, mm in lost.items()}
    for index, refs in enumerate(seam_sides(half.seams[-1:])):
        amounts: dict[Station, float] = {station: each[index] for station, each in shares.items()}
        made += move_ops(half, refs, {**amounts, "waist": 0.0})
    return made


def bust_slash(move: Move, task: Task, board: Board) -> Board:
    """A wedge over the root of the breast, from the top edge to nothing at the waist, spread or folded out."""
    spread = move.way == "spread"
    make = partial(_slash_ops, amount=abs(task.length_mm), spread=spread == (task.length_mm > 0.0))
    done = replace(by_halves(board, task, make), girth=True)
    waist = (done.change_mm(board.pattern, "waist") or 0.0) / task.halves
    if halves_of(board.pattern, task.side, task.settings)[0].seams or abs(waist) < task.settings.ruler_mm:
        return done
    return done.say(AT_WAIST.format(much=task.say(abs(waist)), way="narrower" if waist > 0.0 else "wider"))


def _slash_ops(half: Half, amount: float, spread: bool) -> list[Op]:
    if not amount:
        return []
    if not half.seams:
        return [_through_slash(half, -amount if spread else amount)]
    joins, line = seams_named(half, "bust"), edge_line(half, "top")
    place = None if joins else place_named(half, "side-top")
    piece = half.piece(place.at(place.peak).piece if place else joins[0][0].back.piece)
    if "waist" not in piece.levels:
        raise NotDrawnError(
            f"{piece_first(piece.name)} has no waist drawn on it to end the slash at. Draw it, or slash by hand."
        )
    own = [one for one in line.stretches if one.piece == piece.name]
    if not own:
        raise NotDrawnError(f"{piece_first(piece.name)} has no top edge to slash from.")
    mouth = place.point(place.peak) if place else line.point((own[0].begin + own[-1].end) / 2.0)
    return [_hinged_slash(piece, mouth, amount, spread=spread, to_side=place is not None)]


def _hinged_slash(piece: Piece, mouth: Point, amount: float, *, spread: bool, to_side: bool = False) -> Dart:
    """The slash ends just above the waist in the middle of the panel; thence the paper is cut to the nearer seam.

    That is the bust seam before the panel; the side seam behind it where the panel is all of the front.
    """
    raised = [Point(point.x, point.y + ABOVE_LEVEL_MM) for point in piece.level("waist")]
    parts = cut_level(piece, raised).parts
    hinge, seam = along(parts[0][0], parts[-1][1], 0.5), parts[-1][1] if to_side else parts[0][0]
    if not spread:
        return Dart(piece=piece.name, mouth=mouth, width=amount, point=hinge, relief=seam)
    width = amount * distance(hinge, seam) / distance(hinge, mouth)
    turn: Literal["left", "right"] = "left" if to_side else "right"
    return Dart(piece=piece.name, mouth=seam, width=width, point=hinge, relief=mouth, turn=turn)


def _through_slash(half: Half, amount: float) -> Fold:
    """In a half cut in one piece the slash runs on to the hem and hinges there."""
    piece = half.pieces[0]
    place = place_named(half, "side-top")
    share = place.peak / place.line.size
    line = best_line(
        piece, (share - 0.08, share + 0.08), (amount, 0.0), armhole=(), eyelets_mm=half.settings.mm("eyelet-room")
    )
    if line is None:
        raise NotDrawnError("No straight line runs from the top edge to the hem there. Slash and spread it by hand.")
    return Fold(piece=piece.name, from_=line.start, to=line.end, amount_from=amount, amount_to=0.0, move="left")
