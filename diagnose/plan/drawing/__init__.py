"""Drawing an alteration into a pattern: from what a rule says is done to operations on this very outline.

An alteration's moves are drawn one after the other, each on what the one before has made, and the pattern is measured
before and after. What a pattern gives no place for is not drawn; the maker is told why and what to do by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from diagnose.model.diagnosis import Amount
from diagnose.model.settings import Settings
from diagnose.model.tryon import Station
from diagnose.pattern.outline import Pattern
from diagnose.plan.choosing import Wanted
from diagnose.plan.drawing.board import Board, Move, NotDrawnError, Task
from diagnose.plan.drawing.evening import evened
from diagnose.plan.drawing.verbs_bust import bust_over_seam
from diagnose.plan.drawing.verbs_channels import channels
from diagnose.plan.drawing.verbs_cut import back_wedge, bust_slash, split_all
from diagnose.plan.drawing.verbs_edge import edge
from diagnose.plan.drawing.verbs_fold import panel_fold
from diagnose.plan.drawing.verbs_hem import gores, strap, tabs
from diagnose.plan.drawing.verbs_length import length
from diagnose.plan.drawing.verbs_paper import grain
from diagnose.plan.drawing.verbs_seams import lacing_edge, seams, split_share
from diagnose.plan.drawing.verbs_slide import bust_shift, front_straight, waist_slide
from diagnose.rulebase.moves import moves_for

__all__ = ["Drawn", "draw"]

Verb = Callable[[Move, Task, Board], Board]


@dataclass(frozen=True, slots=True)
class Drawn:
    """An alteration drawn into a pattern.

    Attributes:
        amount: how much, as drawn; girth by station as measured on the pattern.
        profile: the change of the whole girth at each station, take in positive.
        operations: what was done, as JSON in mm; empty where nothing was drawn.
        notes: what the maker should know.
        pattern: the pattern afterwards, None where there is none.
    """

    amount: Amount
    profile: Mapping[Station, float]
    operations: tuple[Mapping[str, Any], ...]
    notes: tuple[str, ...]
    pattern: Pattern | None


def draw(item: Wanted, pattern: Pattern | None, settings: Settings) -> Drawn:
    """The alteration drawn into the pattern.

    Args:
        item: the alteration wanted, how much of it, and on which side.
        pattern: the maker's pattern, as earlier alterations have left it; None where she has none.
        settings: the ruler and the unit.
    """
    if pattern is None or not item.alteration.does:
        return Drawn(item.amount, item.profile, (), (), pattern)
    task, board = Task(item, settings), Board(pattern)
    try:
        for move in _moves(item):
            board = VERBS[str(move["do"])](move, task, board)
        board = evened(board, pattern, task).finished(pattern)
    except NotDrawnError as why:
        return Drawn(item.amount, item.profile, (), (f"Not drawn on the pattern. {why}",), pattern)
    return _drawn(item, pattern, board)


def _moves(item: Wanted) -> tuple[Move, ...]:
    """The moves that are meant by the choice that led to the alteration.

    Raises:
        NotDrawnError: when each is for a sign of its own and none of the signs is shown.
    """
    shown = [line.fact for line in item.choice.only_if if line.comparison == "is" and line.value == "yes"]
    moves = moves_for(item.alteration.does, shown, [evidence.finding for evidence in item.cause.for_])
    if not moves:
        signs = " or ".join(f"“{move['for']}”" for move in item.alteration.does)
        raise NotDrawnError(f"It is drawn in one way for {signs}, and none of them was answered. Draw it by hand.")
    return moves


def _drawn(item: Wanted, before: Pattern, board: Board) -> Drawn:
    """What was drawn, with the girth as it now measures; a redrawn top or bottom edge leaves the girth as it was."""
    if not (board.girth and board.operations):
        return Drawn(item.amount, item.profile, board.operations, board.notes, board.pattern)
    measured: dict[Station, float] = {**item.profile, **board.changes_mm(before)}
    amount = item.amount
    if item.alteration.kind == "girth":
        amount = replace(_on_lines(item, board), by_station_mm=measured)
    return Drawn(amount, measured, board.operations, board.notes, board.pattern)


def _on_lines(item: Wanted, board: Board) -> Amount:
    """The amount as it is on the stitching lines drawn; the one asked for where no seams were moved."""
    if not board.edges_mm:
        return item.amount
    lines = max(board.edges_mm.values(), key=lambda each: abs(sum(each)))
    half = sum(lines)
    whole = half if item.side != "both" else 2 * half
    return Amount(whole, half, 2 * half / len(lines), half / len(lines), edges_mm=board.edges_mm)


def _nothing(move: Move, task: Task, board: Board) -> Board:
    return board


VERBS: Mapping[str, Verb] = {
    "seams": seams,
    "lacing-edge": lacing_edge,
    "panel-fold": panel_fold,
    "split-share": split_share,
    "length": length,
    "edge": edge,
    "back-wedge": back_wedge,
    "bust-slash": bust_slash,
    "gores": gores,
    "tabs": tabs,
    "strap": strap,
    "channels": channels,
    "split-sides": split_all,
    "note": _nothing,
    "bust-over-seam": bust_over_seam,
    "bust-shift": bust_shift,
    "waist-slide": waist_slide,
    "front-straight": front_straight,
    "grain": grain,
}
