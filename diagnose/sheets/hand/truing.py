"""What is drawn afresh after a cut: the stretch of each edge where the parts no longer ran into each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from diagnose.pattern.altered import Altered, EdgeParts, PartMoved, RunRedrawn, Zone
from diagnose.pattern.geometry.bezier import moved, tangent
from diagnose.pattern.geometry.plane import cross, dot, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_between, run_length, run_nearest, run_points_at
from diagnose.pattern.in_words import edge_words, piece_words, seam_title, way_square
from diagnose.pattern.outline import STIFF_ROLES, Edge, Piece, Point, Run
from diagnose.sentences import listed
from diagnose.sheets.drawn.work_layers import Lettered
from diagnose.sheets.hand.figures import Chord, Corner, End, Halfway, HandStep, Place
from diagnose.sheets.hand.lines import chord_marks
from diagnose.sheets.hand.paper_places import Desk, corner_words
from diagnose.sheets.hand.pictures import Picture

__all__ = ["PENCIL_MM", "truing_steps"]

PENCIL_MM = 0.3
ONE_STRETCH_MM = 4.0
CLOSE_SHARE = 0.25
ENDS: tuple[End, End] = ("start", "end")


class Laid(Struct, frozen=True):
    """An old edge as it lies after the cut: the part that it begins on, and the part that it ends on."""

    head: Run
    tail: Run


def truing_steps(desk: Desk, old: Piece, made: Altered) -> Iterator[HandStep]:
    """A step for each edge that was drawn afresh, by more than the ruler can show."""
    new = made.pattern.piece(old.name)
    laid = _laid(old, made.zones)
    for edge in new.edges:
        mine = [
            zone for zone in made.zones
            if isinstance(zone, RunRedrawn) and (zone.piece, zone.edge) == (new.name, edge.name)
            and zone.by_mm > desk.step_mm / 4.0
        ]  # fmt: skip
        if mine and edge.name in laid:
            size = run_length(edge.segments)
            if edge.role in STIFF_ROLES and len(edge.segments) == 1:
                yield _step(desk, new, edge, zone=(0.0, size), laid=laid)
                continue
            for start, end in _stretches(mine):
                yield _step(desk, new, edge, zone=(max(0.0, start), min(size, end)), laid=laid)


def _stretches(zones: Sequence[RunRedrawn]) -> Iterator[tuple[float, float]]:
    """From where to where along the edge it was redrawn, zones that touch taken as one."""
    start, end = 0.0, -1.0
    for zone in sorted(zones, key=lambda one: one.start_mm):
        if end < start:
            start, end = zone.start_mm, zone.end_mm
        elif zone.start_mm <= end + ONE_STRETCH_MM:
            end = max(end, zone.end_mm)
        else:
            yield start, end
            start, end = zone.start_mm, zone.end_mm
    yield start, end


def _laid(old: Piece, zones: Sequence[Zone]) -> Mapping[str, Laid]:
    """Every edge of the piece as its paper lies now, not yet trued."""
    laid = {edge.name: Laid(edge.segments, edge.segments) for edge in old.edges}
    for zone in zones:
        if isinstance(zone, PartMoved) and zone.piece == old.name:
            for name, run in zone.runs:
                if run_length(run) > run_length(old.edge(name).segments) - PENCIL_MM:
                    carried = tuple(moved(segment, zone.move) for segment in run)
                    laid[name] = Laid(carried, carried)
    for zone in zones:
        if isinstance(zone, EdgeParts) and zone.piece == old.name:
            laid[zone.edge] = Laid(zone.runs[0], zone.runs[-1])
    return laid


def _place(laid: Mapping[str, Laid], piece: Piece, edge: Edge, spot: Point, end: End) -> Place:
    """A place on the lines as they lie before truing, measured along the edge from that end of it.

    Where the corner fell away, the new one lies on the edge beside it, on that edge run straight on (a length below
    nothing, beyond its end), or half way between the cut ends.
    """
    own, at = _on_part(laid[edge.name], edge, spot, end=end)
    if own > PENCIL_MM:
        beyond, elsewhere = _on_part(laid[edge.name], edge, spot, end="end" if end == "start" else "start")
        own, at = (beyond, elsewhere) if beyond <= PENCIL_MM else (own, at)
    names = [one.name for one in piece.edges]
    beside = piece.edges[(names.index(edge.name) + (1 if end == "end" else -1)) % len(names)]
    if own <= PENCIL_MM or beside.name not in laid:
        return at
    other: End = "start" if end == "end" else "end"
    run = laid[beside.name].tail if end == "start" else laid[beside.name].head
    mm, away = run_nearest(run, spot)
    if away <= PENCIL_MM:
        return beside.name, other, mm if other == "start" else run_length(run) - mm
    past, aside = _run_on(run, spot, other)
    if past > 0.0 and aside <= PENCIL_MM:
        return beside.name, other, -past
    return Halfway((Corner(edge.name, end), Corner(beside.name, other)))


def _run_on(run: Run, spot: Point, end: End) -> tuple[float, float]:
    """How far a place lies past that end of a line that is run straight on there, and how far aside of it."""
    at, way = (run[0].start, tangent(run[0], 0.0)) if end == "start" else (run[-1].end, tangent(run[-1], 1.0))
    out = scaled(unit(way), -1.0 if end == "start" else 1.0)
    return dot(sub(spot, at), out), abs(cross(out, sub(spot, at)))


def _on_part(laid: Laid, edge: Edge, spot: Point, end: End) -> tuple[float, Place]:
    """How far a place lies from the part that the edge begins (or ends) on, and the place measured along that part."""
    run = laid.head if end == "start" else laid.tail
    mm, away = run_nearest(run, spot)
    return away, (edge.name, end, mm if end == "start" else run_length(run) - mm)


def _step(desk: Desk, piece: Piece, edge: Edge, zone: tuple[float, float], laid: Mapping[str, Laid]) -> HandStep:
    spots = run_points_at(edge.segments, zone)
    first, last = (
        _read(desk, _place(laid, piece, edge, spot=spot, end=end)) for spot, end in zip(spots, ENDS, strict=True)
    )
    read = {desk.read(along): desk.read(off) for along, off in chord_marks(edge.segments, *zone)}
    marks = tuple(read.items())
    marks = marks if any(off for _, off in marks) else ()
    figure = Chord(piece.name, edge.name, first, last=last, marks=marks)
    title, named = seam_title(piece, edge), f"{edge_words(edge)} of {piece_words(piece.name)}"
    if not marks and (first, last) == ((edge.name, "start", 0.0), (edge.name, "end", 0.0)):
        text = f"Rule {edge_words(edge)} of {piece_words(piece.name)} straight from one end to the other."
        return HandStep(text, (), (figure,), pictures=(Picture(piece, lines=(spots,)),),
                        brief=f"Rule {named}.",
                        kind="true", rows=((title, "straight from one end to the other"),))  # fmt: skip
    a, b = (desk.mark(spot) for spot in spots)
    where = f"{_place_words(desk, piece, first, mark=a)} and {_place_words(desk, piece, last, mark=b)}".removesuffix(
        ","
    )
    text = f"True {edge_words(edge)} of {piece_words(piece.name)}: mark {where}. Lay the ruler from {a} to {b}"
    text += ", mark off it, and draw one smooth line through the marks:" if marks else " and rule it straight there."
    table = tuple((f"{desk.say(along)} from {a}", _off_words(desk, off)) for along, off in marks)
    said = " · ".join(f"{along.removesuffix(f' from {a}')}: {off}" for along, off in table)
    rows = ((title, f"mark {where}" + ("" if table else f", and rule {a}–{b}")),
            *(((f"from {a}, off {a}–{b}", said),) if table else ()))  # fmt: skip
    fresh = run_between(edge.segments, *zone)
    picture = Picture(piece, dict(zip((a, b), spots, strict=True)), lines=(spots,), curves=(fresh,),
                      least_share=CLOSE_SHARE)  # fmt: skip
    letters = tuple(Lettered(mark, piece.name, spot) for mark, spot in zip((a, b), spots, strict=True))
    return HandStep(text, table, (figure,), pictures=(picture,), brief=f"True {named}, {a}–{b}.", kind="true",
                    rows=rows, marks=letters)  # fmt: skip


def _read(desk: Desk, place: Place) -> Place:
    """The place as she reads it off her ruler."""
    return place if isinstance(place, Halfway) else (place[0], place[1], desk.read(place[2]))


def _place_words(desk: Desk, piece: Piece, place: Place, mark: str) -> str:
    if isinstance(place, Halfway):
        ends = [edge_words(piece.edge(corner.edge)) for corner in place.ends]
        return f"{mark} half way between the cut ends of {listed(ends)}"
    name, end, mm = place
    corner = corner_words(piece, Corner(name, end))
    if mm < 0.0:
        past = corner if corner.startswith("the") else f"the corner {corner}"
        return f"{mark} {desk.say(-mm)} past {past}, on {edge_words(piece.edge(name))} run straight on,"
    if mm:
        return f"{mark} {desk.say(mm)} along {edge_words(piece.edge(name))} from {corner}"
    return f"{mark} at {corner}" if corner.startswith("the") else f"{mark} {corner}"


def _off_words(desk: Desk, off: float) -> str:
    return f"{desk.say(off)} {way_square(off)}" if off else "on it"
