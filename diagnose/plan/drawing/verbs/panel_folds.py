"""Folding width out inside a panel where no seam runs (or spreading it in), and giving back at the hem.

A fold is one rigid move, so what it takes runs evenly with the height. The amounts at the two highest stations named
are made exact; what the fold then takes too much at the lowest is let in again as a small gusset, in the slit nearest
to the fold, its tip at the slit's own.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.geometry.plane import cross, distance, sub, unit
from diagnose.pattern.in_words import piece_words
from diagnose.pattern.measure import slit_length, station_width
from diagnose.pattern.operations import Fold
from diagnose.pattern.outline import Edge, Piece, Point, Slit
from diagnose.plan.drawing.board import Board, NotDrawnError, Task
from diagnose.plan.drawing.edge_lines import edge_line
from diagnose.plan.drawing.foldline import FoldLine, best_line, level_share
from diagnose.plan.drawing.gussets import let_in, own_piece
from diagnose.plan.drawing.half import Half, halves_of
from diagnose.plan.drawing.landing import landed, misses_mm
from diagnose.plan.drawing.named_places import place_named, underarm_s
from diagnose.plan.drawing.rebone import redrawn, taken_out
from diagnose.plan.drawing.verbs.moved_seams import named_amounts
from diagnose.rulebase.reading.moves import Move

__all__ = ["panel_fold"]

NO_LINE = (
    "No straight line runs from the top edge to the lower edge of the {where} panel. Pin the surplus on the toile and"
    " draw the fold by hand."
)
LAP = (
    "Only the lower edge is too wide, and no fold can take width there alone. Lap the edges of the slits, {each} at the"
    " foot of each and nothing at its tip, or cut so much off the tabs."
)


class _Plan(Struct, frozen=True):
    """Where a half is folded and how much is wanted where."""

    line: FoldLine
    upper: tuple[Station, ...]
    lowest: Station | None
    wanted: Mapping[Station, float]


def panel_fold(move: Move, task: Task, board: Board) -> Board:
    """The strip folded out of the panel (or spread), and the gusset that gives back at the hem."""
    where = move.where
    sides = [half.side for half in halves_of(board.pattern, task.side, task.settings)]
    for side in sides:
        own = task if len(sides) == 1 else task.on(side)
        half = halves_of(board.pattern, side, task.settings)[0]
        board = _one_half(_planned(half, where, named_amounts(move, own), task=own), own, board)
    return board


def _planned(half: Half, where: str, wanted: Mapping[Station, float], task: Task) -> _Plan:
    piece, region = _panel(half, where)
    named = [s for s in STATIONS if s in wanted and s in piece.levels]
    upper = tuple(named[:2])
    if not upper:
        raise NotDrawnError(
            "The pattern has none of the levels that the fold is measured at. Mark them, or fold by hand."
        )
    lowest = named[-1] if len(named) > 2 else None
    if not any(wanted[s] for s in upper) and lowest and wanted[lowest] > 0.0:
        slits = max(1, len(piece.slits))
        raise NotDrawnError(LAP.format(each=task.say(wanted[lowest] / slits)))
    line = best_line(
        piece, region, _rough(upper, wanted), armhole=_armhole(half), eyelets_mm=task.settings.mm("eyelet-room")
    )
    if line is None or any(line.part_at(station) is None for station in upper):
        raise NotDrawnError(NO_LINE.format(where=where))
    return _Plan(line, upper, lowest, wanted=wanted)


def _rough(upper: tuple[Station, ...], wanted: Mapping[Station, float]) -> tuple[float, float]:
    """About how wide the strip is at the top and at the bottom."""
    return wanted[upper[0]], wanted[upper[-1]]


def _panel(half: Half, where: str) -> tuple[Piece, tuple[float, float]]:
    """The panel to fold and the shares of its width between which the fold may begin."""
    low, high = half.settings.mm(f"fold-{where}-from"), half.settings.mm(f"fold-{where}-to")
    if len(half.pieces) == 1:
        piece = half.pieces[0]
        line = edge_line(half, "top")
        station = next((s for s in STATIONS if s in piece.levels), None)
        if where == "back" and line.stretches and station:
            low = level_share(piece, station, line.point(underarm_s(half, line)))
        return piece, (min(low, high - 0.1), min(high, half.settings.mm("fold-back-to")))
    shares = (0.0, *half.shares(), 1.0)
    centres = [(shares[i] + shares[i + 1]) / 2.0 for i in range(len(half.pieces))]
    inside = [i for i, centre in enumerate(centres) if low <= centre <= high]
    near = inside or [min(range(len(centres)), key=lambda i: abs(centres[i] - (low + high) / 2.0))]
    middle = half.settings.mm("fold-panel-from"), half.settings.mm("fold-panel-to")
    return max((half.pieces[i] for i in near), key=_waist_width), middle


def _waist_width(piece: Piece) -> float:
    return station_width(piece, "waist") if "waist" in piece.levels else 0.0


def _armhole(half: Half) -> tuple[Edge, ...]:
    if len(half.pieces) > 1 or not edge_line(half, "top").stretches:
        return ()
    return tuple(one.edge for one in place_named(half, "underarm").stretches)


def _one_half(plan: _Plan, task: Task, before: Board) -> Board:
    upper = {station: plan.wanted[station] for station in plan.upper}

    board = before
    if any(upper.values()):
        board = _folded(plan.line, upper, task, before=before).say(_where(plan.line, task))
    return _given_back(plan, plan.lowest, task, before=before, board=board) if plan.lowest else board


def _folded(line: FoldLine, upper: Mapping[Station, float], task: Task, before: Board) -> Board:
    """The board with the strip folded out, and the channels that lay in it on the closing line."""
    cleared = taken_out(before, line, task)
    name = own_piece(cleared.pattern, line.piece.name, task.side).name

    def draw(amounts: Mapping[Station, float]) -> Board:
        return replace(cleared.do(_fold_ops(line, name, amounts), task.side), girth=True)

    board = landed(draw, upper, cleared, task=task)
    folds = [operation for operation in board.operations if isinstance(operation, Fold)]
    return redrawn(board, line, folds[-1], task=task) if folds else board


def _fold_ops(line: FoldLine, name: str, amounts: Mapping[Station, float]) -> list[Fold]:
    """The fold whose strip is as wide as the amounts where it crosses the levels."""
    places = [(part, mm) for station, mm in amounts.items() if (part := line.part_at(station)) is not None]
    (first, top), (last, low) = places[0], places[-1]
    slope = (low - top) / (last - first) if last != first else 0.0
    ends = top - slope * first, top + slope * (1.0 - first)
    if not any(ends):
        return []
    return [Fold(piece=name, from_=line.start, to=line.end, amount_from=ends[0], amount_to=ends[1], move="left")]


def _where(line: FoldLine, task: Task) -> str:
    stations = [station for station in STATIONS if station in line.piece.levels]
    ends = dict(zip((stations[0], stations[-1]), line.shares, strict=True))
    at = " and ".join(
        f"the {station} level {task.say(share * station_width(line.piece, station))}" for station, share in ends.items()
    )
    edge = f"the front edge of {piece_words(line.piece.name)}"
    return f"The fold's middle line crosses {at} from {edge}, measured along the level."


def _given_back(plan: _Plan, station: Station, task: Task, before: Board, board: Board) -> Board:
    """The board with a gusset for what the fold took too much at the lowest station, or with a word about it."""
    miss = misses_mm(board, {station: plan.wanted[station]}, before, task=task).get(station, 0.0)
    half_mark = task.settings.ruler_mm / 2
    if abs(miss) <= half_mark:
        return board
    if miss > 0.0:
        return board.say(_too_little(station, miss, plan.wanted[station], task=task))
    slit = _nearest_slit(plan.line)
    if slit is None:
        what = f"At the {station} the fold takes {task.say(-miss)} in the half more than was wanted"
        return board.say(f"{what}, with no slit to give it back in: open one there, or leave it until tried on.")
    name = plan.line.piece.name
    return let_in(board, before, name, slit=slit.name, wanted={station: plan.wanted[station]}, task=task)


def _too_little(station: Station, miss: float, wanted: float, task: Task) -> str:
    does = "lets out {much} more" if wanted <= 0.0 else "takes {much} less"
    return (
        f"At the {station} the fold, being straight, {does.format(much=task.say(miss))} in the half than was wanted:"
        " leave it until it has been tried on again."
    )


def _nearest_slit(line: FoldLine) -> Slit | None:
    down = unit(sub(line.end, line.start))

    def off(point: Point) -> float:
        return abs(cross(down, sub(point, line.start)))

    slits = [slit for slit in line.piece.slits if distance(slit.line[0], slit.line[-1]) and slit_length(slit)]
    return min(slits, key=lambda slit: off(slit.line[0]) + off(slit.line[-1]), default=None)
