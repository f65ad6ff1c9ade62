"""Correcting what is drawn until the girth changes by what was wanted.

What a stitching line moves square to itself is not quite what the level loses, where the line slants. So the amounts
are drawn, the pattern is measured at every station, and what is missing is drawn as well, in whole divisions of the
maker's ruler, until no division more or less would land nearer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.model.stations import Station
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.tolerances import NOISE_MM
from diagnose.plan.drawing.board import Board, Task
from diagnose.units import on_ruler

__all__ = ["landed", "misses_mm"]

MOST_STEPS = 8
Amounts = Mapping[Station, float]


def landed(draw: Callable[[Amounts], Board], wanted: Amounts, before: Board, task: Task) -> Board:
    """The board on which each station lands nearest to what was wanted of it.

    Args:
        draw: draws amounts of one half, in whole divisions of the ruler, from the pattern as it was before.
        wanted: the change of one half at each station that is aimed at, mm; take in positive.
        before: the board before.
        task: gives the ruler and how many halves are drawn.
    """
    ruler_mm, girths = task.settings.ruler_mm, _girths(before, wanted)
    amounts = {station: on_ruler(much, ruler_mm) for station, much in wanted.items()}
    tried: dict[tuple[float, ...], tuple[float, Board]] = {}
    for _ in range(MOST_STEPS):
        board = draw(amounts)
        misses = _misses(board, wanted, girths, task=task)
        worst = max((abs(miss) for miss in misses.values()), default=0.0)
        tried[tuple(amounts.values())] = (worst, board)
        if worst <= ruler_mm / 2 + NOISE_MM:
            break
        amounts = {station: on_ruler(much + misses.get(station, 0.0), ruler_mm) for station, much in amounts.items()}
        if tuple(amounts.values()) in tried:
            break
    return min(tried.values(), key=lambda one: one[0])[1]


def misses_mm(board: Board, wanted: Amounts, before: Board, task: Task) -> dict[Station, float]:
    """What is still missing in one half at each station aimed at that the pattern has: wanted less measured."""
    return _misses(board, wanted, _girths(before, wanted), task=task)


def _girths(board: Board, stations: Amounts) -> dict[Station, float]:
    found = {station: garment_girth(board.pattern, station) for station in stations}
    return {station: girth for station, girth in found.items() if girth is not None}


def _misses(board: Board, wanted: Amounts, before: Amounts, task: Task) -> dict[Station, float]:
    now = _girths(board, before)
    return {station: wanted[station] - (before[station] - girth) / task.halves for station, girth in now.items()}
