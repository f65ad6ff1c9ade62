"""Drawing an alteration into a pattern: from what a rule says is done to operations on this very outline.

An alteration's moves are drawn one after the other, each on what the one before has made, and the pattern is measured
before and after. What a pattern gives no place for is not drawn; the maker is told why and what to do by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.diagnosis import Amount
from diagnose.model.settings import Settings
from diagnose.model.tryon import Station
from diagnose.pattern.outline import Pattern
from diagnose.plan.choosing import Wanted
from diagnose.plan.drawing.board import Board, Move, NotDrawnError, Task
from diagnose.plan.drawing.evening import evened

__all__ = ["Drawn", "draw"]

Verb = Callable[[Move, Task, Board], Board]


class Drawn(Struct, frozen=True):
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
            board = _drawn_by(str(move["do"]), move, task, board)
        board = evened(board, pattern, task).finished(pattern)
    except NotDrawnError as why:
        return Drawn(item.amount, item.profile, (), (f"Not drawn on the pattern. {why}",), pattern)
    return _drawn(item, pattern, board)


def _moves(item: Wanted) -> tuple[Move, ...]:
    """The moves that are meant.

    Raises:
        NotDrawnError: when each is for a sign of its own and none of the signs is shown.
    """
    if not item.moves:
        signs = " or ".join(f"“{move['for']}”" for move in item.alteration.does)
        raise NotDrawnError(f"It is drawn in one way for {signs}, and none of them was answered. Draw it by hand.")
    return item.moves


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


VERBS: Mapping[str, str] = {
    "seams": "verbs_seams:seams",
    "lacing-edge": "verbs_seams:lacing_edge",
    "panel-fold": "verbs_fold:panel_fold",
    "split-share": "verbs_seams:split_share",
    "length": "verbs_length:length",
    "edge": "verbs_edge:edge",
    "back-wedge": "verbs_cut:back_wedge",
    "bust-slash": "verbs_cut:bust_slash",
    "gores": "verbs_hem:gores",
    "tabs": "verbs_hem:tabs",
    "strap": "verbs_hem:strap",
    "channels": "verbs_channels:channels",
    "split-sides": "verbs_cut:split_all",
    "note": "",
    "bust-over-seam": "verbs_bust:bust_over_seam",
    "bust-shift": "verbs_slide:bust_shift",
    "waist-slide": "verbs_slide:waist_slide",
    "front-straight": "verbs_slide:front_straight",
    "grain": "verbs_paper:grain",
}
"""For each verb of a move, where its drawing stands; it is loaded when a move first wants it."""


def _drawn_by(verb: str, move: Move, task: Task, board: Board) -> Board:
    """The board with the move drawn on it; a move that only notes something leaves it as it is."""
    module, _, function = VERBS[verb].partition(":")
    if not module:
        return board
    draw_move: Verb = getattr(import_module(f"{__name__}.{module}"), function)
    return draw_move(move, task, board)
