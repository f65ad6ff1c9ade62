"""Ruler-and-pencil instructions: for each operation, what to measure from where, what to draw, and what to check.

Every length is one she can read off her ruler, from a place she can find on her paper; the same lengths stand beside
the words as data (`diagnose.sheets.hand.figures`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose.pattern import operations as do_operations
from diagnose.pattern.measure import channel_length, station_width
from diagnose.pattern.moved.carry import Polyline
from diagnose.pattern.operations import Operation
from diagnose.pattern.operations.channels import Channels
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.insert_gore import InsertGore
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.move_edge import MoveEdge
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.operations.tabs import Tabs
from diagnose.pattern.outline import STATIONS, Pattern
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.placing import older_piece
from diagnose.sheets.hand.cuts import dart_steps, fold_steps, length_steps
from diagnose.sheets.hand.edges import changed_edge_steps, move_edge_steps, reshape_steps
from diagnose.sheets.hand.figures import Figure, HandStep, NewLine, Width
from diagnose.sheets.hand.others import bone_slides, channel_steps, gore_steps, split_steps, strap_steps, tab_steps
from diagnose.sheets.hand.paper_marks import mark_steps
from diagnose.sheets.hand.pictures import picture
from diagnose.sheets.hand.places import Desk
from diagnose.units import Unit

__all__ = ["HandStep", "steps_for"]

CHANGED_MM = 0.4


def steps_for(
    operations: Sequence[Operation], before: Pattern, after: Pattern, unit: Unit = "in"
) -> tuple[HandStep, ...]:
    """How the operations are drawn by hand, in order, and what to check at the end.

    Args:
        operations: what was done.
        before: the pattern it was done to.
        after: what they came to, finished.
        unit: the unit of her ruler.

    Raises:
        FitError: when an operation cannot be done to the pattern.
    """
    desk, pattern, steps = Desk(unit), before, list[HandStep]()
    for operation in operations:
        done = do_operations.do(pattern, [operation], whole=False)
        steps += _steps(desk, operation, pattern, done.pattern)
        steps += _bones(desk, pattern, done.pattern)
        pattern = done.pattern
    return (*steps, *_finished(desk, pattern, after), *_check(desk, before, after))


def _finished(desk: Desk, drawn: Pattern, after: Pattern) -> Iterator[HandStep]:
    """What is trued once at the end, where a line is not as the steps have left it: seams walked, corners squared."""
    for piece in after.pieces:
        left = drawn.piece(piece.name)
        steps = changed_edge_steps(desk, left, piece) if left.edges != piece.edges else ()
        yield from (step for step in steps if any(f.seen for f in step.figures if isinstance(f, NewLine)))


def _steps(desk: Desk, operation: Operation, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    match operation:
        case Fold():
            return fold_steps(desk, operation, before, after)
        case Dart():
            return dart_steps(desk, operation, before, after)
        case MoveEdge():
            return move_edge_steps(desk, operation, before, after)
        case ReshapeEdge():
            return reshape_steps(desk, operation, before, after)
        case Length():
            return length_steps(desk, operation, before, after)
        case InsertGore():
            return gore_steps(desk, operation, before, after)
        case SplitSides():
            return split_steps(desk, operation, before, after)
        case Channels():
            return channel_steps(desk, operation, before, after)
        case Strap():
            return strap_steps(desk, operation, before, after)
        case Tabs():
            return tab_steps(desk, operation, before, after)
        case Marks():
            return mark_steps(desk, operation, before, after)
    raise AssertionError(f"no chapter by hand for {operation!r}")


def _bones(desk: Desk, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """The channels whose length the operation changed, and which end of each is moved on or back along its line."""
    rows, figures, shown = list[tuple[str, str]](), list[Figure](), dict[str, list[Polyline]]()
    for piece in after.pieces:
        old = older_piece(piece.name, before)
        known = {channel.name: channel for channel in old.channels} if old else {}
        for channel in (c for c in piece.channels if c.name in known):
            now, was = channel_length(channel), channel_length(known[channel.name])
            if abs(now - was) >= desk.step_mm:
                slid = bone_slides(desk, piece, known[channel.name], channel)
                ends = "".join(f"; its {words}" for words, _ in slid)
                rows.append((f"{piece.name}, channel {channel.name}", f"{desk.say(now)}, was {desk.say(was)}{ends}"))
                figures += [figure for _, figure in slid]
                shown.setdefault(piece.name, []).append(channel.line)
    if rows:
        text = "Rule these channels straight between their ends, as far from the edge as before; cut bones to suit:"
        yield HandStep(text, tuple(rows), tuple(figures), _first_shown(after, shown, text))


def _first_shown(pattern: Pattern, shown: Mapping[str, Sequence[Polyline]], title: str) -> Drawing:
    """The first of the pieces that a table is about, with its lines."""
    name, lines = next(iter(shown.items()))
    return picture(pattern.piece(name), lines=lines, title=title)


def _check(desk: Desk, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """The widths that differ now, as she can measure them along the levels."""
    rows, figures, shown = list[tuple[str, str]](), list[Figure](), dict[str, list[Polyline]]()
    for piece in after.pieces:
        old = older_piece(piece.name, before)
        for station in (s for s in STATIONS if old and s in piece.levels and s in old.levels):
            width = station_width(piece, station)
            if old is not None and abs(width - station_width(old, station)) > CHANGED_MM:
                figures.append(Width(piece.name, station, desk.read(width)))
                rows.append((f"{piece.name}, along the {station} level", desk.say(width)))
                shown.setdefault(piece.name, []).append(piece.levels[station])
    if rows:
        text = "Check the new widths along the levels, and walk every seam you changed against its partner:"
        yield HandStep(text, tuple(rows), tuple(figures), _first_shown(after, shown, text))
