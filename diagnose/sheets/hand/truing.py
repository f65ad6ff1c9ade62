"""What is drawn afresh after a cut: the stretch of each edge where the parts no longer ran into each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from diagnose.pattern.geometry.curves import moved, run_length, run_nearest, run_point_at, run_split
from diagnose.pattern.geometry.plane import Affine, distance
from diagnose.pattern.outline import Edge, Piece, Point, Segment
from diagnose.sheets.drawn.differences import distances
from diagnose.sheets.hand.figures import Chord, Corner, End, Halfway, HandStep, Place
from diagnose.sheets.hand.lines import chord_marks
from diagnose.sheets.hand.pictures import picture
from diagnose.sheets.hand.places import Desk, corner_words, edge_words, listed, piece_words

__all__ = ["merged", "truing_steps"]

WALK_MM = 1.5
OFF_OLD_MM = 0.2
BEYOND_MM = 4.0
ON_LINE_MM = 0.3
CLOSE_SHARE = 0.25
STIFF_ROLES = ("fold", "opening", "lacing")
ENDS: tuple[End, End] = ("start", "end")
Run = tuple[Segment, ...]


def truing_steps(desk: Desk, old: Piece, new: Piece, moves: Affine, cuts: Sequence[Point] = ()) -> Iterator[HandStep]:
    """A step for each edge that does not simply lie where its paper came to lie.

    Args:
        desk: the ruler.
        old: the piece before the cut.
        new: the piece after it, trued.
        moves: how the moving part came to its place.
        cuts: where the lines of the cut meet the outline of the old piece.
    """
    nearest = [min(old.edges, key=lambda edge: run_nearest(edge.segments, spot)[1]).name for spot in cuts]
    met = {edge.name: [s for s, name in zip(cuts, nearest, strict=True) if name == edge.name] for edge in old.edges}
    laid = {edge.name: _Laid(edge, moves, met[edge.name]) for edge in old.edges}
    for edge in new.edges:
        zone = laid[edge.name].redrawn(edge) if edge.name in laid else None
        if zone is not None:
            yield _step(desk, new, edge, zone, laid)


class _Laid:
    """An old edge as it lies after the cut: its beginning on one of the two parts, its end on one of them."""

    def __init__(self, old: Edge, moves: Affine, cuts: Sequence[Point]) -> None:
        self.copies = (old.segments, tuple(moved(segment, moves) for segment in old.segments))
        size = run_length(old.segments)
        met = [run_nearest(old.segments, spot)[0] for spot in cuts]
        self.head_mm, self.tail_mm = min(met, default=size), size - max(met, default=0.0)

    def head(self, new: Edge) -> Run:
        """The copy that the new edge begins on."""
        return min(self.copies, key=lambda run: distance(run[0].start, new.start))

    def tail(self, new: Edge) -> Run:
        """The copy that the new edge ends on."""
        return min(self.copies, key=lambda run: distance(run[-1].end, new.end))

    def redrawn(self, new: Edge) -> tuple[float, float] | None:
        """From where to where, along the new edge, it lies on neither."""
        size = run_length(new.segments)
        count = max(4, math.ceil(size / WALK_MM))
        places = [size * n / count for n in range(count + 1)]
        spots = [run_point_at(new.segments, mm) for mm in places]
        head, tail = self.head(new), self.tail(new)
        begins = [mm for mm, by in zip(places, distances(head, spots), strict=True) if by > OFF_OLD_MM]
        ends = [mm for mm, by in zip(places, distances(tail, spots), strict=True) if by > OFF_OLD_MM]
        if not begins or not ends or begins[0] > ends[-1]:
            return None
        if new.role in STIFF_ROLES and len(new.segments) == 1:
            return 0.0, size
        # The new line may run for a while where the paper that was cut away lay: it begins at the cut all the same.
        start, end = min(begins[0] - BEYOND_MM, self.head_mm), max(ends[-1] + BEYOND_MM, size - self.tail_mm)
        return max(0.0, start), min(size, end)


def _place(laid: dict[str, _Laid], piece: Piece, edge: Edge, spot: Point, end: End) -> Place:
    """A place on the lines as they lie before truing, measured along the edge from that end of it.

    Where the corner fell away, the new one is the cut end of the edge beside it, or half way between the cut ends.
    """
    own = laid[edge.name].head(edge) if end == "start" else laid[edge.name].tail(edge)
    mm, away = run_nearest(own, spot)
    at: Place = (edge.name, end, mm if end == "start" else run_length(own) - mm)
    names = [one.name for one in piece.edges]
    beside = piece.edges[(names.index(edge.name) + (1 if end == "end" else -1)) % len(names)]
    if away <= ON_LINE_MM or beside.name not in laid:
        return at
    other: End = "start" if end == "end" else "end"
    run = laid[beside.name].tail(beside) if end == "start" else laid[beside.name].head(beside)
    if run_nearest(run, spot)[1] > ON_LINE_MM:
        return Halfway((Corner(edge.name, end), Corner(beside.name, other)))
    return beside.name, other, 0.0


def _step(desk: Desk, piece: Piece, edge: Edge, zone: tuple[float, float], laid: dict[str, _Laid]) -> HandStep:
    spots = [run_point_at(edge.segments, mm) for mm in zone]
    first, last = (_read(desk, _place(laid, piece, edge, spot, end)) for spot, end in zip(spots, ENDS, strict=True))
    marks = tuple((desk.read(along), desk.read(off)) for along, off in chord_marks(edge.segments, *zone))
    marks = marks if any(off for _, off in marks) else ()
    figure = Chord(piece.name, edge.name, first, last, marks)
    of = f" of {piece_words(piece)}"
    if not marks and (first, last) == ((edge.name, "start", 0.0), (edge.name, "end", 0.0)):
        text = f"Rule {edge_words(edge)}{of} straight from one end to the other."
        return HandStep(text, (), (figure,), picture(piece, {}, lines=(spots,), title=text))
    a, b = desk.letter(), desk.letter()
    where = f"{_place_words(desk, piece, first, a)} and {_place_words(desk, piece, last, b)}"
    text = f"True {edge_words(edge)}{of}: mark {where}. Lay the ruler from {a} to {b}"
    text += ", mark off it, and draw one smooth line through the marks:" if marks else " and rule it straight there."
    table = tuple((f"{desk.say(along)} from {a}", _off_words(desk, off)) for along, off in marks)
    shown = dict(zip((a, b), spots, strict=True))
    fresh = run_split(run_split(edge.segments, zone[1])[0], zone[0])[1]
    drawing = picture(piece, shown, lines=(spots,), curves=(fresh,), title=text, least_share=CLOSE_SHARE)
    return HandStep(text, table, (figure,), drawing)


def _read(desk: Desk, place: Place) -> Place:
    """The place as she reads it off her ruler."""
    return place if isinstance(place, Halfway) else (place[0], place[1], desk.read(place[2]))


def _place_words(desk: Desk, piece: Piece, place: Place, mark: str) -> str:
    if isinstance(place, Halfway):
        ends = [edge_words(piece.edge(corner.edge)) for corner in place.ends]
        return f"{mark} half way between the cut ends of {listed(ends)}"
    name, end, mm = place
    corner = corner_words(piece, Corner(name, end))
    if mm:
        return f"{mark} {desk.say(mm)} along {edge_words(piece.edge(name))} from {corner}"
    return f"{mark} at {corner}" if corner.startswith("the") else f"{mark} {corner}"


def _off_words(desk: Desk, off: float) -> str:
    return f"{desk.say(off)} {'into the piece' if off > 0 else 'out of the piece'}" if off else "on it"


def merged(steps: Sequence[HandStep]) -> Iterator[HandStep]:
    """The steps, those that only rule a stretch straight put together as one with a table."""
    plain = [step for step in steps if not step.table and all(isinstance(f, Chord) for f in step.figures)]
    if len(plain) < 2:
        yield from steps
        return
    yield from (step for step in steps if step not in plain)
    rows = tuple((f"{n}", step.text) for n, step in enumerate(plain, 1))
    figures = tuple(figure for step in plain for figure in step.figures)
    yield HandStep("Smooth the small step at the join, edge by edge:", rows, figures, plain[0].picture)
