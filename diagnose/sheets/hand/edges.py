"""Edges moved and reshaped: marks along the old line, so much in or out, and a smooth line through them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.plane import across, add, distance, scaled
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_place, run_point_at
from diagnose.pattern.in_words import (
    channels_words,
    edge_title,
    edge_words,
    piece_title,
    piece_words,
    seam_title,
    way_square,
)  # fmt: skip
from diagnose.pattern.measure import station_ends
from diagnose.pattern.moved.shift import runs_on
from diagnose.pattern.operations.move_edge import MoveEdge
from diagnose.pattern.operations.reshape_edge import ReshapeEdge, adjoining
from diagnose.pattern.outline import END_ROLES, STIFF_ROLES, Edge, Pattern, Piece, Point, Segment, run_of
from diagnose.sentences import listed, upper_first
from diagnose.sheets.hand.figures import Corner, End, HandStep, NewLine
from diagnose.sheets.hand.lines import Off, Offsets, marks_between, walk
from diagnose.sheets.hand.paper_places import Desk, corner_words, end_words, side_ended
from diagnose.sheets.hand.pictures import Picture

__all__ = ["changed_edge_steps", "move_edge_steps", "new_line_step", "reshape_steps"]

AT_LEVEL_MM = 1.5
CORNER_MOVED_MM = 0.5
EVEN_MM = 0.3


def move_edge_steps(desk: Desk, run: Sequence[MoveEdge], before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The marks of each edge that was moved, once however often it was, then those of whatever else was drawn anew."""
    own = dict.fromkeys((do.piece, name) for do in run for name in do.redrawn)
    for name, edge in own:
        follows = [do for do in run if do.piece == name and do.channels == "follow"]
        followed = {edge for do in follows for edge in do.redrawn}
        yield from _moved_edge(desk, before.piece(name), made.pattern.piece(name), name=edge, followed=followed)
    sewn = [{tuple(seam.a), tuple(seam.b)} for seam in before.seams]
    partnered = {(do.piece, name) for do in run if do.true_partner for name in do.redrawn}
    trued = {ref for ends in sewn if ends & partnered for ref in ends}
    moved = {name for name, _ in own}
    for other in before.pieces:
        partners = [edge for name, edge in trued - own.keys() if name == other.name]
        names = partners if other.name in moved else None
        yield from changed_edge_steps(desk, other, made.pattern.piece(other.name), names=names)


def _moved_edge(desk: Desk, piece: Piece, new: Piece, name: str, *, followed: Collection[str]) -> Iterator[HandStep]:
    """The marks of one moved edge, and the channels that follow it: those nearer to it than to another followed."""
    edge = piece.edge(name)
    stations = _station_places(piece, edge)
    step = new_line_step(desk, piece, new, edges=(edge,), wanted=tuple(stations), names=stations)
    if step is not None:
        yield step
    if edge.role in END_ROLES:
        # A channel that ends at it gets longer or shorter and stays beside its seam.
        return
    laid = {channel.name: channel.line for channel in new.channels}
    changed = [one for one in piece.channels if one.name in laid and laid[one.name] != one.line]
    beside = [one.name for one in changed if _nearest(piece, one.middle, followed) == name]
    if beside:
        said = channels_words(desk.bones, piece.name, beside)
        text = f"Move {said} along with {edge_words(edge)}, so that the distance between them stays."
        picture = Picture(piece, lines=[laid[one] for one in beside])
        brief = f"Move {said} with {edge_words(edge)} of {piece_words(piece.name)}."
        yield HandStep(text, (), (), pictures=(picture,), brief=brief, kind="follow",
                       rows=((seam_title(piece, edge), said),))  # fmt: skip


def _nearest(piece: Piece, spot: Point, names: Collection[str]) -> str | None:
    """Which of those edges lies nearest to a spot."""
    edges = (edge for edge in piece.edges if edge.name in names)
    return min(((run_nearest(edge.segments, spot)[1], edge.name) for edge in edges), default=(0.0, None))[1]


def changed_edge_steps(desk: Desk, old: Piece, new: Piece, names: Sequence[str] | None = None) -> Iterator[HandStep]:
    """A step for each edge of a piece that lies beside its old line (of those named, or of all)."""
    kept = {edge.name: edge.segments for edge in new.edges}
    for edge in old.edges:
        redrawn = edge.name in kept and kept[edge.name] != edge.segments
        if redrawn and (names is None or edge.name in names):
            step = new_line_step(desk, old, new, edges=(edge,), wanted=())
            if step is not None:
                yield step


def reshape_steps(desk: Desk, do: ReshapeEdge, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The marks of the reshaped run."""
    piece, new = before.piece(do.piece), made.pattern.piece(do.piece)
    edges = adjoining(piece, do.edges)
    run = run_of(edges)
    places = [run_nearest(run, p)[0] if isinstance(p, Point) else p for p in (do.from_, do.peak, do.to)]
    up = {"up": Point(0.0, 1.0), "down": Point(0.0, -1.0)}.get(do.direction)
    step = new_line_step(desk, piece, new, edges=edges, wanted=tuple(places), way=up)
    if step is not None:
        yield step


def new_line_step(
    desk: Desk,
    old: Piece,
    new: Piece,
    edges: Sequence[Edge],
    wanted: Sequence[float],
    *,
    names: dict[float, str] | None = None,
    way: Point | None = None,
) -> HandStep | None:
    """The step that draws a run of edges anew from its old line; None where the two are one.

    Args:
        desk: the ruler.
        old: the piece as it lies.
        new: the piece as it is to be.
        edges: the run, in order.
        wanted: places (mm from the run's start) that must be among the marks.
        names: what some of those places are called.
        way: the direction of measuring; square to the old line when left out.
    """
    run, now = run_of(edges), run_of([new.edge(edge.name) for edge in edges])
    offsets = _stretches(run, now) if way is None else None
    offsets = offsets or walk(run, now, way)
    if offsets.changed is None:
        return None
    even = _even(desk, offsets)
    raw = ((0.0, even), (offsets.size_mm, even)) if even else marks_between(offsets, wanted)
    end: End = _from_end(edges)
    marks = [_Mark(desk.read(mm if end == "start" else offsets.size_mm - mm), desk.read(off), mm) for mm, off in raw]
    marks.sort()
    if not any(mark.off for mark in marks):
        return None
    title = f"{piece_title(old.name)}, {listed([edge_title(edge) for edge in edges])}"
    if even:
        step = _all_along(old, new, edges, title=title, off=_off_words(desk, marks[0].off, way))
    else:
        told = [
            (_along_words(desk, mark, names or {}, whole=offsets.size_mm), _off_words(desk, mark.off, way))
            for mark in marks
        ]
        step = _through_marks(old, new, edges, title=title, marks=marks, told=told, upright=way is not None)
    names_of, set_off = tuple(edge.name for edge in edges), tuple((mark.along, mark.off) for mark in marks)
    figure = NewLine(old.name, names_of, end, marks=set_off, way=way, even=bool(even))
    spots = {} if even else {str(n): _spot(run, m.raw, m.off, way=way) for n, m in enumerate(marks, 1)}
    picture = Picture(old, spots, curves=(now,))
    return replace(step, figures=(figure,), pictures=(picture,), kind="" if way else "line")


def _all_along(old: Piece, new: Piece, edges: Sequence[Edge], title: str, off: str) -> HandStep:
    """The words of a line that lies as far off all along."""
    beside = f"{off} of {listed([edge_words(edge) for edge in edges])}"
    beside = beside.replace(" inwards of", " inside").replace(" outwards of", " outside")
    joined = _join_words(old, edges, new).replace("@", "")
    text = f"On {piece_words(old.name)}, draw a line {beside}, the same all along{joined}."
    brief = f"{upper_first(title)}: {off}, all along."
    return HandStep(text, brief=brief, rows=((title, f"{off}, the same all along"),))


def _through_marks(
    old: Piece, new: Piece, edges: Sequence[Edge], title: str, marks: Sequence[_Mark], told: Sequence[tuple[str, str]],
    *, upright: bool,
) -> HandStep:  # fmt: skip
    """The words of a line through marks: its table, and as a row beside others from where it is measured.

    Args:
        old: the piece as it lies.
        new: the piece as it is to be.
        edges: the run, in order.
        title: what the run is called.
        marks: the marks; told: where each is and how far off, in words.
        upright: whether it is measured up or down; otherwise square to the old line.
    """
    end = Corner(edges[0].name, "start") if _from_end(edges) == "start" else Corner(edges[-1].name, "end")
    corner, how = corner_words(old, end), "straight up or down from" if upright else "square to"
    joined = _join_words(old, edges, new).replace("@", _through(edges, new))
    text = (
        f"On {piece_words(old.name)}, measure along {listed([edge_words(edge) for edge in edges])} from {corner}, and "
        f"{how} the old line set these marks. {joined}:"
    )
    table = tuple((f"{n}  {where}", off) for n, (where, off) in enumerate(told, 1))
    side = side_ended(old, end)
    own = f"its {end_words(*side)}" if side and side[0].name == edges[0].name else corner
    said = [f"{off if mark.off else 'nothing'} {where}" for mark, (where, off) in zip(marks, told, strict=True)]
    where, off = told[max(range(len(marks)), key=lambda n: abs(marks[n].off))]
    brief = f"{upper_first(title)}: {off} {where}."
    return HandStep(text, table, brief=brief, rows=((title, f"from {own}: {'; '.join(said)}"),))


class _Mark(NamedTuple):
    """A mark as she reads it: along from the end measured from, and off; and along from the run's start, unrounded."""

    along: float
    off: float
    raw: float


def _stretches(run: Sequence[Segment], now: Sequence[Segment]) -> Offsets | None:
    """The offsets of a run with corners, stretch by stretch between them; None where it has none, or others now."""
    old_parts, new_parts = _between_corners(run), _between_corners(now)
    if len(old_parts) < 2 or len(old_parts) != len(new_parts):
        return None
    found: list[Off] = []
    begin = 0.0
    for old, new in zip(old_parts, new_parts, strict=True):
        found += [replace(one, mm=begin + one.mm) for one in walk(old, new).found]
        begin += run_length(old)
    return Offsets(begin, tuple(found))


def _between_corners(run: Sequence[Segment]) -> list[list[Segment]]:
    parts: list[list[Segment]] = [[run[0]]]
    for before, after in pairwise(run):
        if runs_on(before, after):
            parts[-1].append(after)
        else:
            parts.append([after])
    return parts


def _even(desk: Desk, offsets: Offsets) -> float:
    """The one amount by which the whole run moved; 0 where it differs from place to place."""
    met = [one.by for one in offsets.found]
    return desk.read(sum(met) / len(met)) if met and max(met) - min(met) <= EVEN_MM else 0.0


def _through(edges: Sequence[Edge], new: Piece) -> str:
    stiff = edges[0].role in STIFF_ROLES and len(run_of([new.edge(e.name) for e in edges])) == 1
    return "Rule through them" if stiff else "Draw one smooth line through them"


def _from_end(edges: Sequence[Edge]) -> End:
    """Which end of the run to measure from: its top, or its front."""
    start, end = edges[0].start, edges[-1].end
    if abs(start.y - end.y) >= abs(start.x - end.x):
        return "start" if start.y >= end.y else "end"
    return "start" if start.x <= end.x else "end"


def _station_places(piece: Piece, edge: Edge) -> dict[float, str]:
    """Where the levels meet the edge, mm from its start."""
    found: dict[float, str] = {}
    for station in STATIONS:
        for spot in station_ends(piece, station) or ():
            mm, away = run_nearest(edge.segments, spot)
            if away <= AT_LEVEL_MM:
                found[mm] = station
    return found


def _name_of(mm: float, names: dict[float, str]) -> str:
    near = min(names, key=lambda place: abs(place - mm), default=None)
    return names[near] if near is not None and abs(near - mm) <= AT_LEVEL_MM else ""


def _along_words(desk: Desk, mark: _Mark, names: dict[float, str], whole: float) -> str:
    said = f"at {desk.say(mark.along)}" if mark.along > AT_LEVEL_MM else "at that corner"
    said = "at the other end" if mark.along > whole - AT_LEVEL_MM else said
    name = _name_of(mark.raw, names)
    return f"{said}, the {name} level" if name else said


def _off_words(desk: Desk, off: float, way: Point | None) -> str:
    if not off:
        return "on the old line"
    if way is not None:
        return f"{desk.say(off)} {'up' if (off > 0.0) == (way.y > 0.0) else 'down'}"
    return f"{desk.say(off)} {way_square(off)}"


def _join_words(piece: Piece, edges: Sequence[Edge], new: Piece) -> str:
    """What the new line runs on to; `@` stands for how it is drawn."""
    index = [edge.name for edge in piece.edges]
    before = piece.edges[index.index(edges[0].name) - 1]
    behind = piece.edges[(index.index(edges[-1].name) + 1) % len(piece.edges)]
    first, last = new.edge(edges[0].name), new.edge(edges[-1].name)
    ends = ((before, first.start, edges[0].start), (behind, last.end, edges[-1].end))
    moved = [edge for edge, corner, old in ends if distance(corner, old) > CORNER_MOVED_MM]
    if not moved:
        return "@, leaving and meeting the old line without a corner"
    return f"@, until it meets {listed([edge_words(edge) for edge in moved])} (run on straight where too short)"


def _spot(run: Sequence[Segment], mm: float, off: float, way: Point | None) -> Point:
    index, t = run_place(run, mm)
    return add(run_point_at(run, mm), scaled(way or across(tangent(run[index], t)), off))
