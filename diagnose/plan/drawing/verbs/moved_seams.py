"""Moving stitching lines: the seams of a half, the lacing edge, the side seam between front and back."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import partial
from statistics import linear_regression
from typing import Literal

from msgspec.structs import replace

from diagnose.gap.shares import share_out
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.geometry.plane import across, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_nearest
from diagnose.pattern.in_words import place_title, way_square
from diagnose.pattern.measure import edge_length, levels_ending
from diagnose.pattern.operations import Channels, MoveEdge
from diagnose.pattern.operations.channels import Shifted
from diagnose.pattern.operations.move_edge import Place, from_end_to_end
from diagnose.pattern.outline import SIDE_ROLES, Edge, EdgeRef, Pattern, Piece, run_of, runs_along
from diagnose.plan.drawing.board import Board, NotDrawnError, Op, Task
from diagnose.plan.drawing.half import Half, Join, by_halves, closing_edge, halves_of, seam_sides
from diagnose.plan.drawing.landing import landed, misses_mm
from diagnose.plan.drawing.named_places import seams_named
from diagnose.plan.wanted import few
from diagnose.rulebase.reading.moves import Move
from diagnose.sentences import listed

__all__ = ["follows", "girth_kept", "lacing_edge", "move_ops", "named_amounts", "seams", "split_share"]

MEETS_MM = 1.0
LEAST_SLANT_MM = 0.8
NO_SEAM = (
    "This half is cut in one piece: it has no seam to take in or let out. To take in, fold a strip out of the paper;"
    " to let out, slash it and spread."
)


def seams(move: Move, task: Task, board: Board) -> Board:
    """Both edges of the chosen seams moved by their share of the change at each station named."""
    for part, profile in task.item.parts.items():
        board = seams(move, replace(task, item=replace(task.item, part=part, profile=profile, parts={})), board)
    if task.item.parts:
        return board
    wanted = _on_this_paper(named_amounts(move, task), task, board.pattern)
    which = task.item.part or move.which
    greatest = max(wanted.values(), key=abs, default=0.0)
    count = few(_counted(board.pattern, task, which), greatest, task.settings)
    lines = _lines_of(board.pattern, task)

    def draw(amounts: Mapping[Station, float]) -> Board:
        each = len(lines) * count
        shares = {station: share_out(much, each, task.settings.ruler_mm) for station, much in amounts.items()}
        make = partial(_seam_ops, which=which, count=count, shares=shares, lines=lines)
        done = by_halves(board, task, make)
        drawn = {s: mm for s, mm in shares.items() if any(s in piece.levels for piece in board.pattern.pieces)}
        return replace(done, edges_mm=drawn or shares, girth=True)

    done = landed(draw, wanted, board, task=task)
    return done.say(*_uneven(done, task, which, count=count))


def girth_kept(board: Board, before: Board, task: Task, still: Collection[Station] = ()) -> Board:
    """The board with the seams moved so that every level is as wide again as it was before.

    Where paper is cut across and moved, edges that slant are drawn through between their two halves, and a level beside
    the cut comes out wider or narrower. Half a division of the ruler on each line is left, and so is one in all
    at a level: to put that right would bend a seam for what nobody can sew. A half without seams is left as the cut has
    left it: its straight lacing edge lies as near to all its levels already as it can.

    Args:
        board: the board after the cut.
        before: the board before it.
        task: gives side and ruler.
        still: stations at which no seam is moved; an armhole that a sleeve is set into keeps its size so.
    """
    there = [s for s in STATIONS if any(s in piece.levels for piece in board.pattern.pieces)]
    kept: dict[Station, float] = dict.fromkeys(there, 0.0)
    count = len(seams_named(halves_of(board.pattern, task.side, task.settings)[0], "all"))
    off = misses_mm(board, kept, before, task=task)
    if not count or max(map(abs, off.values()), default=0.0) <= task.settings.ruler_mm:
        return replace(board, girth=True)
    left = {*still, *(s for s, mm in off.items() if abs(mm) <= task.settings.ruler_mm)}

    def draw(amounts: Mapping[Station, float]) -> Board:
        amounts = {station: 0.0 if station in left else much for station, much in amounts.items()}
        shares = {station: share_out(much, 2 * count, task.settings.ruler_mm) for station, much in amounts.items()}
        make = partial(_seam_ops, which="all", count=count, shares=shares)
        return replace(by_halves(board, task, make), girth=True)

    try:
        return landed(draw, kept, before, task=task)
    except NotDrawnError:
        return replace(board, girth=True)


def named_amounts(move: Move, task: Task) -> dict[Station, float]:
    """The change of one half wanted at each station that the move names, mm; its own only where one was read.

    Where front and back each answer for themselves, at every station: they are told as what each was given there.
    """
    whole = move.by is None or task.item.part is not None
    named = dict.fromkeys(STATIONS, "full") if whole else move.by or {}
    own = {s for s, how in named.items() if how == "own" and s not in task.item.read}
    return {s: 0.0 if named[s] == "nothing" else task.per_half(s) for s in STATIONS if s in named and s not in own}


def _on_this_paper(amounts: dict[Station, float], task: Task, pattern: Pattern) -> dict[Station, float]:
    """The amounts; where the outermost station named is not on the paper, its end goes by what the change is there.

    Else what is wanted at the last station that is there would run on to the edge.
    """
    there = [s for s in STATIONS if any(s in piece.levels for piece in pattern.pieces)]
    named = [STATIONS.index(s) for s in amounts]
    met = [STATIONS.index(s) for s in amounts if s in there]
    if not met:
        return amounts
    ends = [
        s for s in there
        if (STATIONS.index(s) > max(met) and max(named) > max(met))
        or (STATIONS.index(s) < min(met) and min(named) < min(met))
    ]  # fmt: skip
    return {**amounts, **{s: task.per_half(s) for s in ends}}


def fewest(half: Half, which: str, count: int) -> list[tuple[Join, ...]]:
    """So many of the seams meant, from the front: those nearest to the side of the body."""
    named = seams_named(half, which)
    off = {
        seam: abs(share - half.settings.mm("side-at")) for seam, share in zip(half.seams, half.shares(), strict=True)
    }
    near = sorted(named, key=lambda seam: off[seam])[:count]
    return [seam for seam in named if seam in near]


def _counted(pattern: Pattern, task: Task, which: str) -> int:
    count = len(seams_named(halves_of(pattern, task.side, task.settings)[0], which))
    if not count:
        raise NotDrawnError(NO_SEAM)
    return count


def _lines_of(pattern: Pattern, task: Task) -> tuple[int, ...]:
    """Which stitching lines of a seam are moved, the one in front 0, the one behind 1: as a rule both.

    Where front and back each answer for themselves and the part has no seam but the one at the side, that seam's line
    on the part's own piece: moved on both, the front's change would go half into the back.
    """
    half = halves_of(pattern, task.side, task.settings)[0]
    if task.item.part is None or seams_named(half, task.item.part) != seams_named(half, "side"):
        return (0, 1)
    return (0,) if task.item.part == "front" else (1,)


def _seam_ops(
    half: Half, which: str, count: int, shares: Mapping[Station, Sequence[float]], lines: Collection[int] = (0, 1)
) -> list[Op]:
    made: list[Op] = []
    sides = [refs for number, refs in enumerate(seam_sides(fewest(half, which, count))) if number % 2 in lines]
    for index, refs in enumerate(sides):
        amounts = {station: each[index] for station, each in shares.items()}
        made += move_ops(half, refs, amounts)
    return made


def move_ops(half: Half, refs: Sequence[EdgeRef], amounts: Mapping[Station, float]) -> list[MoveEdge]:
    """The edges of a piece moved by the amounts where the stations' levels meet them; nothing where none is to move.

    Those that adjoin move as one line. Channels that run beside them go with them.
    """
    piece, beside_mm = half.piece(refs[0].piece), half.settings.mm("bone-beside-seam")
    made = []
    for edges in runs_along(piece, [ref.edge for ref in refs]):
        line = replace(edges[0], segments=run_of(edges))
        met = dict(levels_ending(piece, line, MEETS_MM))
        by = tuple(Place(at=station, mm=mm) for station, mm in amounts.items() if station in met)
        if any(place.mm for place in by):
            first, *on = (edge.name for edge in edges)
            follow = follows(piece, edges, beside_mm)
            made.append(MoveEdge(piece=piece.name, edge=first, by=by, on=tuple(on), channels=follow))
    return made


def follows(piece: Piece, edges: Sequence[Edge], beside_mm: float) -> Literal["stay", "follow"]:
    """Whether the channels go along with moved edges: those that `move-edge` would carry must all run beside them,
    no farther off than `beside_mm`.

    The only channel of a panel stands in its middle and stays there.
    """
    names = [edge.name for edge in edges]
    sides = [other for other in piece.edges if other.role in SIDE_ROLES]
    offs = [{other.name: run_nearest(other.segments, c.middle)[1] for other in sides} for c in piece.channels]
    carried = [min(off.values()) for off in offs if min(off, key=lambda name: off[name]) in names]
    beside = len(piece.channels) > 1 and all(mm <= beside_mm for mm in carried)
    return "follow" if beside and carried else "stay"


def _uneven(board: Board, task: Task, which: str, count: int) -> tuple[str, ...]:
    """A sentence for the stations at which the lines do not all take the same, and in the same way."""
    half = halves_of(board.pattern, task.side, task.settings)[0]
    sides = seam_sides(fewest(half, which, count))
    lines = [listed([place_title(board.pattern, *ref) for ref in refs]) for refs in sides]
    alike: dict[tuple[float, ...], list[str]] = {}
    for station, each in board.edges_mm.items():
        if len(set(each)) > 1:
            alike.setdefault(each, []).append(station)
    return tuple(
        f"At the {listed(stations)} draw {'; '.join(_listed(each, lines, task))}." for each, stations in alike.items()
    )


def _listed(each: Sequence[float], lines: Sequence[str], task: Task) -> list[str]:
    return [
        f"{_way(amount, task)} on {', '.join(line for line, much in zip(lines, each, strict=True) if much == amount)}"
        for amount in sorted(set(each))
    ]


def _way(amount: float, task: Task) -> str:
    return f"{task.say(abs(amount))} {way_square(amount)}" if amount else "nothing"


def lacing_edge(move: Move, task: Task, board: Board) -> Board:
    """The lacing edge moved by the change of a half and kept straight; its channels go with it.

    Where the stations ask for the same it moves parallel to itself, else on the slant that comes nearest to them: to
    those that were read, and beyond them to what the change is there, so that the slant does not run away.
    """
    read = [STATIONS.index(station) for station in task.item.read]
    wanted = {
        station: task.per_half(station)
        for place, station in enumerate(STATIONS)
        if not read or place in read or not min(read) < place < max(read)
    }
    done = by_halves(board, task, partial(_lacing_ops, wanted=wanted))
    return replace(done, girth=True)


def _lacing_ops(half: Half, wanted: Mapping[Station, float]) -> list[Op]:
    found = closing_edge(half)
    if found is None:
        raise NotDrawnError(
            "No edge of this pattern is marked as the lacing edge: move it by hand, parallel to itself."
        )
    if not any(wanted.values()):
        return []
    piece, edges = found
    edge, on = replace(edges[0], segments=run_of(edges)), tuple(other.name for other in edges[1:])
    start, end = _straight_through(piece, edge, wanted)
    if abs(end - start) > LEAST_SLANT_MM:
        by = from_end_to_end(start, end)
        return [MoveEdge(piece=piece.name, edge=edge.name, by=by, on=on, channels="follow")]
    mm = (start + end) / 2.0
    if not mm:
        return []
    moved = MoveEdge(piece=piece.name, edge=edge.name, by=(Place(along=0.5, mm=mm),), on=on)
    inward = scaled(across(unit(sub(edge.end, edge.start))), mm)
    beside = [
        c.name
        for c in piece.channels
        if run_nearest(edge.segments, c.middle)[1] <= half.settings.mm("bone-beside-seam")
    ]
    if not beside:
        return [moved]
    carried = Channels(piece=piece.name, move=tuple(Shifted(name=name, by=inward) for name in beside))
    return [carried, moved] if mm > 0.0 else [moved, carried]


def _straight_through(piece: Piece, edge: Edge, wanted: Mapping[Station, float]) -> tuple[float, float]:
    """By how much the ends of a straight edge move so that its levels come nearest to what is wanted of them."""
    size, met = edge_length(edge), dict(levels_ending(piece, edge, MEETS_MM))
    places = {met[station] / size: mm for station, mm in wanted.items() if station in met}
    if len(places) < 2:
        most = max(places.values() or wanted.values(), key=abs)
        return most, most
    slope, start = linear_regression([*places], [*places.values()])
    return start, start + slope


def split_share(move: Move, task: Task, board: Board) -> Board:
    """The side seam moved forward: the front loses what the back gains."""
    done = by_halves(board, task, partial(_side_ops, mm=task.length_mm))
    return replace(done, girth=True)


def _side_ops(half: Half, mm: float) -> list[Op]:
    joins = seams_named(half, "side")
    if not joins:
        raise NotDrawnError("This half is cut in one piece and has no side seam to move.")
    made: list[Op] = []
    for refs, by in zip(seam_sides(joins[:1]), (mm, -mm), strict=True):
        made += move_ops(half, refs, dict.fromkeys(STATIONS, by))
    return made
