"""How much of an operation there is room for, when all of it is refused.

An operation refused because it asks for too much works when it asks for almost nothing; the most that works is then
found by halving, and said in place of the remedy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.geometry.plane import scaled
from diagnose.pattern.operations.channels import Channels
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.insert_gore import InsertGore
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.move_edge import MoveEdge
from diagnose.pattern.operations.parse import Operation
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.operations.tabs import Tabs
from diagnose.units import both

__all__ = ["in_part", "with_room"]

HALVINGS = 9
LEAST_PART = 1 / 128
Operations = Sequence[Operation]


def with_room(attempt: Callable[[Operations], object], operations: Operations, error: FitError) -> FitError:
    """The refusal, saying how much there is room for where it was the amount that was too large.

    Args:
        attempt: does the operations, or refuses them.
        operations: what was refused.
        error: the refusal.
    """
    part = _largest_part(lambda k: attempt([in_part(one, k) for one in operations]))
    amounts = list(_amounts(in_part(operations[0], part))) if len(operations) == 1 else []
    if part < LEAST_PART or not (amounts or len(operations) > 1):
        return error
    room = f"The most there is room for is about {', '.join(amounts)}."
    room = room if amounts else f"About {100 * part:.0f} hundredths of every amount would do."
    return FitError(replace(mistake, do=room) for mistake in error.mistakes)


def _largest_part(attempt: Callable[[float], object]) -> float:
    """The largest part, 0 to 1, of what was asked that works (by halving); 0 when not even the least does."""
    low, high, middle = 0.0, 1.0, 0.5**HALVINGS
    for _ in range(HALVINGS + 1):
        try:
            attempt(middle)
        except FitError:
            if low == 0.0:
                return 0.0
            high = middle
        else:
            low = middle
        middle = (low + high) / 2.0
    return low


def in_part(operation: Operation, part: float) -> Operation:
    """The operation with its amounts times `part`; as it is where it has none."""
    match operation:
        case Fold(amount_from=a, amount_to=b):
            return replace(operation, amount_from=a * part, amount_to=b * part)
        case Dart(width=width) | InsertGore(width=width):
            return replace(operation, width=width * part)
        case Length(amount=amount):
            return replace(operation, amount=amount * part)
        case MoveEdge(by=places):
            return replace(operation, by=tuple(replace(place, mm=place.mm * part) for place in places))
        case ReshapeEdge(height=height):
            return replace(operation, height=height * part)
        case Strap(move=move, lengthen=longer, widen=wider):
            return replace(operation, move=move * part, lengthen=longer * part, widen=wider * part)
        case Tabs(add=new, deepen=deeper, lengthen=longer, flare=flare):
            new = tuple(replace(slit, depth=slit.depth * part) if slit.depth else slit for slit in new)
            return replace(operation, add=new, deepen=deeper * part, lengthen=longer * part, flare=flare * part)
        case Channels(move=moves):
            return replace(operation, move=tuple(replace(one, by=scaled(one.by, part)) for one in moves))
        case SplitSides() | Marks():
            return operation


def _amounts(operation: Operation) -> Iterator[str]:
    """The operation's amounts in words."""
    match operation:
        case Fold(amount_from=a, amount_to=b):
            yield both(a) if a == b else f"{both(a)} at from and {both(b)} at to"
        case Dart(width=amount) | InsertGore(width=amount) | Length(amount=amount) | ReshapeEdge(height=amount):
            yield both(amount)
        case MoveEdge(by=places):
            at = [(place.at or f"{place.along or 0.0:g} of its length", place.mm) for place in places if place.mm]
            yield from (f"{both(mm)} at {where}" for where, mm in at)
        case Strap(move=move, lengthen=longer, widen=wider):
            yield from _named(("move", move), ("lengthen", longer), ("widen", wider))
        case Tabs(add=new, deepen=deeper, lengthen=longer, flare=flare):
            yield from (f"{both(slit.depth)} deep at {both(slit.along)}" for slit in new if slit.depth)
            yield from _named(("deepen", deeper), ("lengthen", longer), ("flare", flare))
        case Channels(move=moves):
            yield from (f"{both(one.by.x)} across and {both(one.by.y)} up for {one.name}" for one in moves)


def _named(*amounts: tuple[str, float]) -> Iterator[str]:
    yield from (f"{both(amount)} to {word}" for word, amount in amounts if amount)
