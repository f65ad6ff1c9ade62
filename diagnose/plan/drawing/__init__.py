"""Drawing an alteration into a pattern: from what a rule says is done to operations on this very outline.

An alteration's moves are drawn one after the other, each on what the one before has made, and the pattern is measured
before and after. What a pattern gives no place for is not drawn; the maker is told why and what to do by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.diagnosis import Amount
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.altered import Altered
from diagnose.pattern.finish.faults import unfair_edges
from diagnose.pattern.in_words import Note, place_title, reworded
from diagnose.pattern.kept import OfLate
from diagnose.pattern.operations import Operation
from diagnose.pattern.outline import Pattern
from diagnose.plan.drawing.board import NO_LEVEL, Board, NotDrawnError, Task, changes_mm
from diagnose.plan.drawing.evening import evened
from diagnose.plan.drawing.paper import OnPaper, Paper
from diagnose.plan.drawing.sleeve_heads import heads_matched
from diagnose.plan.drawing.verbs import VERBS
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.reading.moves import Move
from diagnose.units import in_her_unit

__all__ = ["Drawn", "draw", "draw_on", "is_drawable"]


NOT_DRAWN = "Not drawn on the pattern. {why}"
LEFT_OUT = (
    "What is wanted at the {station} is not drawn: that level is not on the pattern. Rule it on each piece and alter"
    " again, or mark the change on the toile."
)
TOO_LITTLE = "Not drawn on the pattern. Shared over the lines it is for, the amount is less than a ruler shows."
LESS = "Do less of it in this round, or draw it by hand."
ROUNDS = 2
SHORT_MM = 2.0
"""What is drawn may fall short of what was asked by so much in the whole girth before the figure told is that drawn."""


MOST_KEPT = 100


class Drawn(Struct, frozen=True):
    """An alteration drawn into a pattern.

    Attributes:
        amount: how much, as drawn; girth by station as measured on the pattern.
        profile: the change of the whole girth at each station, take in positive.
        notes: what the maker should know.
        paper: the paper afterwards, None where there is none.
        on_paper: the drawing itself; None where nothing was drawn.
    """

    amount: Amount
    profile: Mapping[Station, float]
    notes: tuple[Note, ...] = ()
    paper: Paper | None = None
    on_paper: OnPaper | None = None

    @property
    def operations(self) -> tuple[Operation, ...]:
        """What was done; empty where nothing was drawn."""
        return self.on_paper.operations if self.on_paper is not None else ()

    @property
    def pattern(self) -> Pattern | None:
        """The pattern afterwards, None where there is none."""
        return self.paper.pattern if self.paper is not None else None


_OF_LATE = OfLate[Drawn](MOST_KEPT)
"""What was drawn of late: a way that was shown is not drawn again when it is taken, nor a step when the plan is laid
anew."""


def draw(item: Wanted, pattern: Pattern | None, settings: Settings) -> Drawn:
    """The alteration drawn into the pattern, alone.

    Args:
        item: the alteration wanted, how much of it, and on which side.
        pattern: the maker's pattern; None where she has none.
        settings: the ruler and the unit.
    """
    return draw_on(item, Paper.of(pattern) if pattern is not None else None, settings)


def draw_on(item: Wanted, paper: Paper | None, settings: Settings) -> Drawn:
    """The alteration drawn into the paper, on what was drawn there before.

    Args:
        item: the alteration wanted, how much of it, and on which side.
        paper: the maker's pattern, as earlier alterations have left it; None where she has none.
        settings: the ruler and the unit.
    """
    if paper is None or not item.alteration.moves:
        return Drawn(item.amount, item.profile, paper=paper)
    return _OF_LATE.get((paper, settings), _drawn_by(item), lambda: _draw(item, paper, settings))


def _drawn_by(item: Wanted) -> object:
    """All that an alteration is drawn by: how probable its cause is, and by what, is no part of that."""
    cause = replace(item.cause, probability=0.0, for_=(), against=())
    return replace(item, cause=cause, others=()), item.moves


def _draw(item: Wanted, paper: Paper, settings: Settings) -> Drawn:
    task, board = Task(item, settings), Board(Altered(paper.loose), cuts=paper.cuts)
    try:
        for move in _moves(item):
            board = VERBS[move.do](move, task, board)
        board = heads_matched(board, paper.loose, task)
        for _ in range(ROUNDS):
            # What evens a sleeve's own seam tells on its head.
            board = heads_matched(evened(board, paper.loose, task), paper.loose, task)
        finished = board.finished(paper.before)
        _refuse_rough(paper.pattern, finished.pattern)
    except NotDrawnError as why:
        said = in_her_unit(NOT_DRAWN.format(why=why), settings.unit)
        return Drawn(item.amount, item.profile, (said,), paper=paper)
    return _drawn(task, paper, board, finished=finished)


def _refuse_rough(before: Pattern, after: Pattern) -> None:
    """Refuse a drawing with an edge that nobody could cut, or that no cutter would.

    Raises:
        NotDrawnError: when an edge has come to bend more tightly than a French curve does, or to wave.
    """
    rough, wavy = (", ".join(place_title(after, *ref) for ref in refs) for refs in unfair_edges(before, after))
    if rough:
        what = f"So much on so short an edge would bend {rough} more tightly than a French curve does."
        raise NotDrawnError(f"{what} {LESS}")
    if wavy:
        raise NotDrawnError(f"So much would make {wavy} wave: bend to and fro more often than now. {LESS}")


def is_drawable(item: Wanted) -> bool:
    """Whether the alteration is one for the paper at all, and not for the toile, the bones or the lacing alone."""
    return any(move.do != "note" for move in item.moves)


def _moves(item: Wanted) -> tuple[Move, ...]:
    """The moves that are meant.

    Raises:
        NotDrawnError: when each is for a sign of its own and none of the signs is shown.
    """
    if not item.moves:
        signs = " or ".join(f"“{move.sign}”" for move in item.alteration.moves)
        raise NotDrawnError(f"It is drawn in one way for {signs}, and none of them was answered. Draw it by hand.")
    return item.moves


def _drawn(task: Task, paper: Paper, board: Board, finished: Altered) -> Drawn:
    """What was drawn, with the girth as it now measures; a redrawn top or bottom edge leaves the girth as it was."""
    item, new = task.item, tuple(note for note in finished.notes if note not in paper.notes)
    notes = tuple(reworded(note, lambda text: in_her_unit(text, task.settings.unit)) for note in new)
    if not board.operations:
        wants = [s for s, mm in item.profile.items() if mm and s in item.read]
        lacking = [s for s in wants if all(s not in piece.levels for piece in paper.pattern.pieces)]
        notes = (_no_level(lacking),) if lacking == wants != [] else notes
        return Drawn(item.amount, item.profile, notes or _idle(item, paper.pattern), paper=paper)
    said = (*paper.notes, *(note for note in new if note not in board.notes))
    after = Paper(before=paper.before, pattern=finished.pattern, loose=board.pattern, cuts=board.cuts, notes=said)
    altered = replace(finished, notes=notes)
    on_paper = OnPaper(before=paper.pattern, altered=altered, operations=board.operations, made=board.made)
    if board.length_mm is not None:
        item = replace(item, amount=replace(item.amount, length_mm=board.length_mm))
    if not board.girth:
        return Drawn(item.amount, item.profile, notes, paper=after, on_paper=on_paper)
    found = changes_mm(paper.pattern, finished.pattern)
    measured = {station: _drawn_at(station, item.profile, found) for station in STATIONS}
    amount = item.amount
    if item.alteration.kind == "girth":
        # What can be measured on the paper; a height that has no level there has a figure only where she reads the gap.
        told = {s: mm for s, mm in measured.items() if s in found or (mm and s in item.read)}
        amount = replace(_as_made(item, board, found), by_station_mm=told)
        missed = [s for s in item.read if s not in found and abs(measured[s] - item.profile[s]) > SHORT_MM]
        notes = (*notes, *(LEFT_OUT.format(station=station) for station in missed))
    return Drawn(amount, measured, notes, paper=after, on_paper=on_paper)


def _drawn_at(station: Station, wanted: Mapping[Station, float], found: Mapping[Station, float]) -> float:
    """What was drawn at the height; where it has no level, what is wanted as far as the levels beside it tell the same.

    Between two levels the change runs from the one's to the other's; beyond the outermost it is what it is there.
    """
    if station in found:
        return found[station]
    own = STATIONS.index(station)
    over = [mm for other, mm in found.items() if STATIONS.index(other) < own]
    under = [mm for other, mm in found.items() if STATIONS.index(other) > own]
    beside = [*over[-1:], *under[:1]]
    return min(max(wanted[station], min(beside)), max(beside)) if beside else 0.0


def _idle(item: Wanted, pattern: Pattern) -> tuple[str, ...]:
    """Why an alteration of which something was asked has come to nothing on the paper, without a word so far."""
    if item.alteration.kind != "girth":
        return (TOO_LITTLE,) if item.amount.length_mm else ()
    wants = [station for station, mm in item.profile.items() if mm]
    body = [piece for piece in pattern.pieces if piece.levels]
    lacking = [station for station in wants if any(station not in piece.levels for piece in body)]
    if lacking:
        return (_no_level(lacking),)
    return (TOO_LITTLE,) if wants else ()


def _no_level(stations: Iterable[str]) -> str:
    return NOT_DRAWN.format(why=NO_LEVEL.format(stations=" and the ".join(stations)))


def _as_made(item: Wanted, board: Board, found: Mapping[Station, float]) -> Amount:
    """The amount as drawn: on the stitching lines moved, else as it measures where most of it was asked for.

    A steel edge is ruled straight from end to end, so it may give less at a waist than was asked of it there.
    """
    if not board.edges_mm:
        asked, peak = max(((abs(mm), station) for station, mm in item.profile.items()), key=lambda one: one[0])
        if peak not in found or asked - abs(found[peak]) < SHORT_MM:
            return item.amount
        whole = found[peak]
        return Amount(whole_mm=whole, per_half_mm=whole / 2 if item.side == "both" else whole)
    lines = max(board.edges_mm.values(), key=lambda each: abs(sum(each)))
    half = sum(lines)
    whole = half if item.side != "both" else 2 * half
    return Amount(
        whole_mm=whole, per_half_mm=half, per_seam_mm=half / max(1, len(lines) // 2), per_edge_mm=half / len(lines),
        edges_mm=board.edges_mm,
    )  # fmt: skip
