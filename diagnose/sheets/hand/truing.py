"""What is drawn afresh after a cut: the stretch of each edge where the parts no longer ran into each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from diagnose.pattern.curves import moved, run_length, run_point_at, run_split
from diagnose.pattern.outline import Edge, Piece
from diagnose.pattern.plane import Affine
from diagnose.sheets.differences import distances
from diagnose.sheets.hand.figures import Chord, Corner, End, HandStep
from diagnose.sheets.hand.lines import chord_marks
from diagnose.sheets.hand.pictures import picture
from diagnose.sheets.hand.places import Desk, corner_words, edge_words, nearer_end, piece_words

__all__ = ["merged", "truing_steps"]

WALK_MM = 1.5
OFF_OLD_MM = 0.2
BEYOND_MM = 4.0
SHORTEST_MM = 5.0
CLOSE_SHARE = 0.25
STIFF_ROLES = ("fold", "opening", "lacing")


def truing_steps(desk: Desk, old: Piece, new: Piece, moves: Affine, *, named: bool = True) -> Iterator[HandStep]:
    """A step for each edge that does not simply lie where its paper came to lie.

    Args:
        desk: the ruler.
        old: the piece before the cut.
        new: the piece after it, trued.
        moves: how the moving part came to its place.
        named: whether to say which piece is meant.
    """
    kept = {edge.name: edge for edge in old.edges}
    for edge in new.edges:
        zone = _redrawn(kept[edge.name], edge, moves) if edge.name in kept else None
        if zone is not None:
            yield _step(desk, new, edge, zone, named=named)


def _redrawn(old: Edge, new: Edge, moves: Affine) -> tuple[float, float] | None:
    """From where to where, along the new edge, it lies on neither part of the old one."""
    size = run_length(new.segments)
    laid = (*old.segments, *(moved(segment, moves) for segment in old.segments))
    count = max(4, math.ceil(size / WALK_MM))
    places = [size * n / count for n in range(count + 1)]
    away = distances(laid, [run_point_at(new.segments, mm) for mm in places])
    off = [mm for mm, by in zip(places, away, strict=True) if by > OFF_OLD_MM]
    if not off:
        return None
    if new.role in STIFF_ROLES and len(new.segments) == 1:
        return 0.0, size
    return max(0.0, min(off) - BEYOND_MM), min(size, max(off) + BEYOND_MM)


def _step(desk: Desk, piece: Piece, edge: Edge, zone: tuple[float, float], *, named: bool) -> HandStep:
    size = run_length(edge.segments)
    ends = [nearer_end(edge, mm) for mm in zone]
    places = [(end, desk.read(mm)) for end, mm in ends]
    on = [mm if end == "start" else size - mm for end, mm in places]
    if on[1] - on[0] < SHORTEST_MM:
        on, places = [0.0, size], [("start", 0.0), ("end", 0.0)]
    marks = tuple((desk.read(along), desk.read(off)) for along, off in chord_marks(edge.segments, on[0], on[1]))
    marks = marks if any(off for _, off in marks) else ()
    of = f" of {piece_words(piece)}" if named else ""
    spots = [run_point_at(edge.segments, mm) for mm in on]
    figure = Chord(piece.name, edge.name, places[0], places[1], marks)
    if places == [("start", 0.0), ("end", 0.0)] and not marks:
        text = f"Rule {edge_words(edge)}{of} straight from one end to the other."
        return HandStep(text, (), (figure,), picture(piece, {}, lines=(spots,), title=text))
    a, b = desk.letter(), desk.letter()
    where = _places_words(desk, piece, edge, places, (a, b))
    text = f"True {edge_words(edge)}{of}: {where}. Lay the ruler from {a} to {b}"
    text += ", mark off it, and draw one smooth line through the marks:" if marks else " and rule it straight there."
    table = tuple((f"{desk.say(along)} from {a}", _off_words(desk, off)) for along, off in marks)
    shown = dict(zip((a, b), spots, strict=True))
    fresh = run_split(run_split(edge.segments, on[1])[0], on[0])[1]
    drawing = picture(piece, shown, lines=(spots,), curves=(fresh,), title=text, least_share=CLOSE_SHARE)
    return HandStep(text, table, (figure,), drawing)


def _places_words(desk: Desk, piece: Piece, edge: Edge, places: list[tuple[End, float]], marks: tuple[str, str]) -> str:
    """Both places; the corner is named once where both are measured from it."""
    words = [corner_words(piece, Corner(edge.name, end)) for end, _ in places]
    (_, one), (_, two) = places
    if words[0] == words[1] and one and two:
        return f"from {words[0]}, along the line, mark {marks[0]} at {desk.say(one)} and {marks[1]} at {desk.say(two)}"
    said = [_place_words(desk, mm, word, mark) for (_, mm), word, mark in zip(places, words, marks, strict=True)]
    return f"mark {said[0]} and {said[1]}"


def _place_words(desk: Desk, mm: float, corner: str, mark: str) -> str:
    if mm:
        return f"{mark} {desk.say(mm)} along the line from {corner}"
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
