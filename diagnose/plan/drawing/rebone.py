"""Channels that lie in a strip which is folded out: drawn anew on the closing line, as far down as there is room."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.pattern.geometry.plane import across, add, along, distance, scaled, sub, unit
from diagnose.pattern.geometry.polylines import line_gap
from diagnose.pattern.in_words import OfBones
from diagnose.pattern.moved.bones import SLIT_CLEARANCE_MM
from diagnose.pattern.operations import Channels, Fold
from diagnose.pattern.outline import Channel, Piece, Point
from diagnose.plan.drawing.board import Board, NotDrawnError, Task
from diagnose.plan.drawing.foldline import FoldLine
from diagnose.plan.drawing.gussets import own_piece
from diagnose.units import INCH_MM

__all__ = ["redrawn", "taken_out"]

HALVINGS = 12
SHORTER_MM = INCH_MM / 4
ON_LINE = " lay in the fold: it is drawn anew on the closing line, where the bone keeps the paper flat."
ENDS = (
    " lay in the fold: it is drawn anew on the closing line, and ends {much} short of the lower edge,"
    " where its neighbours leave it no room. Cut its bone to that."
)
LEFT_OUT = " lay in the fold and its neighbours leave it no room: leave it out."


def taken_out(board: Board, line: FoldLine, task: Task) -> Board:
    """The board with the channels that lie in the strip taken off the paper."""
    if not line.inside:
        return board
    return board.do([Channels(piece=line.piece.name, remove=line.inside)], task.side)


def _closing_line(fold: Fold) -> tuple[Point, Point]:
    """The side of a fold's strip that stays where it is: there the paper closes."""
    stays = 1.0 if fold.move == "right" else -1.0
    off = scaled(across(unit(sub(fold.to, fold.from_))), stays / 2.0)
    return add(fold.from_, scaled(off, fold.amount_from)), add(fold.to, scaled(off, fold.amount_to))


def redrawn(board: Board, line: FoldLine, fold: Fold, task: Task) -> Board:
    """The board with those channels drawn again on the closing line.

    Of several, the widest is drawn: one line carries one bone.

    Args:
        board: the board after the fold.
        line: the line of the fold, on the piece as it was.
        fold: the fold as it was done.
        task: gives side and unit.
    """
    lost = sorted((c for c in line.piece.channels if c.name in line.inside), key=lambda c: -c.width)
    board = board.say(*(_of(line, channel, LEFT_OUT) for channel in lost[1:]))
    return _again(board, line, lost[0], closing=_closing_line(fold), task=task) if lost else board


def _again(board: Board, line: FoldLine, channel: Channel, closing: tuple[Point, Point], task: Task) -> Board:
    piece = own_piece(board.pattern, line.piece.name, task.side)
    clear_mm = task.settings.mm("bone-clear")
    whole = _within(closing, clear_mm)
    made = _with_room(piece, channel.width, whole, least_mm=task.settings.mm("bone-least"))
    if made is None:
        return board.say(_of(line, channel, LEFT_OUT))
    short = distance(made[-1], whole[-1])
    again = Channel(name=channel.name, line=tuple(made), width=channel.width)
    try:
        board = board.do([Channels(piece=piece.name, add=(again,), clearance=clear_mm)], task.side)
    except NotDrawnError:
        return board.say(_of(line, channel, LEFT_OUT))
    said = ENDS if short >= SHORTER_MM else ON_LINE
    return board.say(_of(line, channel, said.format(much=task.say(short + clear_mm))))


def _of(line: FoldLine, channel: Channel, said: str) -> OfBones:
    return OfBones(line.piece.name, ((channel.name,), said))


def _within(closing: tuple[Point, Point], clear_mm: float) -> tuple[Point, Point]:
    """The line less the clearance at both of its ends."""
    part = min(0.4, clear_mm / distance(*closing))
    return along(*closing, part), along(*closing, 1.0 - part)


def _with_room(piece: Piece, width: float, line: tuple[Point, Point], least_mm: float) -> Sequence[Point] | None:
    """As much of the line, from its top, as keeps clear of the other channels and the slits; None for too little."""
    low, high = 0.0, 1.0
    if _is_clear(piece, width, line):
        return line
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _is_clear(piece, width, (line[0], along(*line, middle))) else (low, middle)
    return (line[0], along(*line, low)) if low * distance(*line) >= least_mm else None


def _is_clear(piece: Piece, width: float, line: Sequence[Point]) -> bool:
    line = tuple(line)
    beside = all(line_gap(line, other.line) >= (width + other.width) / 2.0 for other in piece.channels)
    return beside and all(line_gap(line, slit.line) >= width / 2.0 + SLIT_CLEARANCE_MM for slit in piece.slits)
