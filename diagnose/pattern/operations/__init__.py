"""Operations on a flat pattern: a pattern in, a new pattern out; done in order, all or none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from diagnose.errors import FitError, Mistake
from diagnose.pattern.altered import Altered
from diagnose.pattern.checks import piece_mistakes
from diagnose.pattern.operations.channels import Channels, channels
from diagnose.pattern.operations.dart import Dart, dart
from diagnose.pattern.operations.fold import Fold, fold
from diagnose.pattern.operations.insert_gore import InsertGore, insert_gore
from diagnose.pattern.operations.length import Length, length_change
from diagnose.pattern.operations.move_edge import MoveEdge, move_edge
from diagnose.pattern.operations.parse import Operation, operation_to_json, parse_operations
from diagnose.pattern.operations.reshape_edge import ReshapeEdge, reshape_edge
from diagnose.pattern.operations.split_sides import SplitSides, split_sides
from diagnose.pattern.operations.strap import Strap, strap
from diagnose.pattern.operations.tabs import Tabs, tabs
from diagnose.pattern.outline import Pattern

__all__ = ["Operation", "do", "operation_to_json", "parse_operations"]


def do(pattern: Pattern, operations: Sequence[Operation], where: str = "do") -> Altered:
    """The pattern after all the operations, with everything they had to say.

    Raises:
        FitError: when one cannot be done or would leave a piece that could not be stored; it names the step, and
            nothing has been done.
    """
    altered = Altered(pattern)
    for index, operation in enumerate(operations):
        step = f"{where}[{index}]" if len(operations) > 1 else where
        try:
            done = _one(altered.pattern, operation)
        except FitError as error:
            raise FitError(_placed(step, error.mistakes)) from None
        broken = _broken(altered.pattern, done.pattern)
        if broken:
            raise FitError(_placed(step, broken))
        altered = Altered(done.pattern, (*altered.notes, *done.notes), (*altered.trued, *done.trued))
    return altered


def _placed(step: str, mistakes: Iterable[Mistake]) -> list[Mistake]:
    return [replace(m, where=f"{step}, {m.where}" if m.where else step) for m in mistakes]


def _one(pattern: Pattern, operation: Operation) -> Altered:
    match operation:
        case Fold():
            return fold(pattern, operation)
        case Dart():
            return dart(pattern, operation)
        case MoveEdge():
            return move_edge(pattern, operation)
        case ReshapeEdge():
            return reshape_edge(pattern, operation)
        case Length():
            return length_change(pattern, operation)
        case InsertGore():
            return insert_gore(pattern, operation)
        case SplitSides():
            return split_sides(pattern, operation)
        case Channels():
            return channels(pattern, operation)
        case Strap():
            return strap(pattern, operation)
        case Tabs():
            return tabs(pattern, operation)


def _broken(before: Pattern, after: Pattern) -> list[Mistake]:
    """What is wrong with the pieces that were changed and was not so before."""
    old = {piece.name: piece for piece in before.pieces}
    found: list[Mistake] = []
    for piece in after.pieces:
        if old.get(piece.name) is piece:
            continue
        mistakes = piece_mistakes(piece, f"piece {piece.name}")
        known = {m.what for m in piece_mistakes(old[piece.name], "")} if mistakes and piece.name in old else set()
        found += [replace(m, what=f"It would spoil the piece. {m.what}") for m in mistakes if m.what not in known]
    return found
