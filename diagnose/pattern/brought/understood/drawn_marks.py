"""The marks a drawing names or keeps in layers of their own, laid on the pieces they lie on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.naming import MARKS
from diagnose.pattern.brought.sketch import Dot, Kind, Sketch, Stroke, Words, too_many
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed
from diagnose.pattern.geometry.bezier import box_of, point_at
from diagnose.pattern.geometry.plane import distance, mid
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_point_at
from diagnose.pattern.measure import bounds, is_inside
from diagnose.pattern.outline import END_ROLES, Channel, Edge, Line, Notch, Piece, Point, Slit
from diagnose.pattern.tolerances import MOST_MARKS, WIDEST_CHANNEL_MM
from diagnose.sentences import counted
from diagnose.units import parse_length

__all__ = ["with_marks"]

NAME_NEAR_MM = 15.0
"""How far the words that name a landmark may stand from it."""

NOTCH_MIDDLE_MM = 5.0
"""How far the middle of a notch may lie from its edge."""

SAME_WIDTH_MM = 0.01
"""Places and widths no farther apart are the same: a drawing program may round."""


class _Marks(Struct, frozen=True):
    """The strokes and dots of one piece by kind, and the drawing's words."""

    strokes: Mapping[Kind, Sequence[Stroke]]
    dots: Sequence[Dot]
    words: Sequence[Words]


def with_marks(proposal: Proposal, sketch: Sketch) -> Proposal:
    """The proposal with the levels, channels, slits, notches, landmarks and grain of the drawing on its pieces.

    Raises:
        FitError: when the drawing has too many marks.
    """
    strokes = [stroke for stroke in sketch.strokes if stroke.kind in MARKS]
    if len(strokes) + len(sketch.dots) > MOST_MARKS:
        raise too_many(sketch.name, f"The drawing has over {MOST_MARKS} marks.")
    homes = [_home(stroke.piece, _middle(stroke), proposal.pieces) for stroke in strokes]
    dot_homes = [_home(dot.piece, dot.at, proposal.pieces) for dot in sketch.dots]
    made = []
    for n, one in enumerate(proposal.pieces):
        own = [stroke for stroke, home in zip(strokes, homes, strict=True) if home == n]
        by_kind = {kind: [stroke for stroke in own if stroke.kind == kind] for kind in MARKS}
        dots = [dot for dot, home in zip(sketch.dots, dot_homes, strict=True) if home == n]
        made.append(replace(one, piece=_marked(one.piece, _Marks(by_kind, dots, sketch.words))))
    left = homes.count(None)
    said = (counted(left, "line[ was|s were] left out: nothing names what [it marks|they mark]."),) if left else ()
    return replace(proposal, pieces=tuple(made), said=(*proposal.said, *said))


def _home(name: str, spot: Point, pieces: Sequence[Proposed]) -> int | None:
    """The piece of that name, else the one the spot lies on, else the one whose outline it lies near."""
    for n, one in enumerate(pieces):
        if name and name in (one.piece.name, one.outline.name):
            return n
    near = [n for n, one in enumerate(pieces) if _in_box(one.piece, spot)]
    for n in near:
        if is_inside(pieces[n].piece, spot):
            return n
    return next((n for n in near if _edge_at(pieces[n].piece, spot) is not None), None)


def _in_box(piece: Piece, spot: Point) -> bool:
    box = bounds(piece)
    return box.grown(NOTCH_MIDDLE_MM).off(spot) == 0.0


def _middle(stroke: Stroke) -> Point:
    if stroke.closed:
        return box_of([[segment.start for segment in stroke.segments]]).middle
    return run_point_at(stroke.segments, run_length(stroke.segments) / 2.0)


def _marked(piece: Piece, marks: _Marks) -> Piece:
    grain = next((stroke for stroke in marks.strokes["grain"] if not stroke.closed), None)
    return replace(
        piece,
        levels=_levels(marks),
        channels=tuple(_channels(marks.strokes["channel"])),
        slits=tuple(_slits(piece, marks.strokes["slit"])),
        notches=tuple(_notches(piece, marks)),
        landmarks=_landmarks(marks),
        grain=(grain.start, grain.end) if grain else None,
    )


def _points(stroke: Stroke) -> tuple[Point, ...]:
    """The ends of the stroke's steps: marks are straight from one to the next."""
    return (stroke.start, *(segment.end for segment in stroke.segments))


def _levels(marks: _Marks) -> dict[str, tuple[Point, ...]]:
    """The levels by station: by their own names, else in the order of the words beside them."""
    strokes = marks.strokes["level"]
    named: dict[str, tuple[Point, ...]] = {}
    for stroke in strokes:
        if stroke.part in STATIONS:
            named[stroke.part] = _run_on(named.get(stroke.part, ()) if _is_told(stroke) else (), _points(stroke))
    rest = sorted((s for s in strokes if s.part not in STATIONS), key=lambda s: -_middle(s).y)
    words = [word for word in marks.words if word.kind == "level" and word.text in STATIONS]
    stations = list(dict.fromkeys(word.text for word in sorted(words, key=lambda word: -word.at.y)))
    if rest and len(rest) == len(stations):
        named = {station: _points(stroke) for station, stroke in zip(stations, rest, strict=True)} | named
    return {station: named[station] for station in STATIONS if station in named}


def _channels(strokes: Iterable[Stroke]) -> Iterable[Channel]:
    """Channels drawn as narrow oblongs, or as middle lines whose data tell their width."""
    found: dict[object, Channel] = {}
    for n, stroke in enumerate(strokes, 1):
        one = _channel(stroke, stroke.part or f"channel-{n}")
        key = stroke.part if _is_told(stroke) else n
        if one is not None:
            begun = found[key].line if key in found else ()
            found[key] = replace(one, line=_run_on(begun, one.line))
    yield from found.values()


def _channel(stroke: Stroke, name: str) -> Channel | None:
    width = parse_length(stroke.data.get("width", ""), "mm")
    told = width if width and 0.0 < width <= WIDEST_CHANNEL_MM else None
    if not stroke.closed and told:
        return Channel(name, _points(stroke), told)
    if len(stroke.segments) == 4 and all(isinstance(s, Line) for s in stroke.segments):
        return _oblong_channel(name, stroke, told)
    return None


def _oblong_channel(name: str, stroke: Stroke, told_mm: float | None) -> Channel:
    """The channel of an oblong: its ends are the two sides nearest to the told width, else the two short ones."""
    sizes = [distance(segment.start, segment.end) for segment in stroke.segments]
    wides = [(sizes[n] + sizes[n + 2]) / 2.0 for n in (0, 1)]
    first = min((0, 1), key=lambda n: wides[n] if told_mm is None else abs(wides[n] - told_mm))
    ends = (stroke.segments[first], stroke.segments[first + 2])
    width = min(wides[first], WIDEST_CHANNEL_MM)
    if told_mm is not None and abs(told_mm - width) < SAME_WIDTH_MM:
        width = told_mm
    return Channel(name, (mid(ends[0].start, ends[0].end), mid(ends[1].start, ends[1].end)), width)


def _is_told(stroke: Stroke) -> bool:
    """Whether its own data name it; then several strokes of one name are one mark, drawn in parts."""
    return "mark" in stroke.data


def _run_on(line: tuple[Point, ...], more: tuple[Point, ...]) -> tuple[Point, ...]:
    return (*line, *more[1:]) if line and distance(line[-1], more[0]) < SAME_WIDTH_MM else (*line, *more)


def _slits(piece: Piece, strokes: Iterable[Stroke]) -> Iterable[Slit]:
    """Slits from the end that lies on the bottom or top edge."""
    ends = [edge for edge in piece.edges if edge.role in END_ROLES]
    for n, stroke in enumerate(strokes, 1):
        line = _points(stroke)
        off = [min((run_nearest(edge.segments, tip)[1] for edge in ends), default=0.0) for tip in (line[0], line[-1])]
        from_foot = _is_told(stroke) or off[0] <= off[1]
        yield Slit(stroke.part or f"slit-{n}", line if from_foot else line[::-1])


def _notches(piece: Piece, marks: _Marks) -> Iterable[Notch]:
    edges = {edge.name: edge for edge in piece.edges}
    spots = [(stroke.part, _middle(stroke)) for stroke in marks.strokes["notch"]]
    for name, spot in (*spots, *((dot.part, dot.at) for dot in marks.dots if dot.kind == "notch")):
        edge = edges.get(name) or _edge_at(piece, spot)
        if edge is not None:
            yield Notch(edge.name, run_nearest(edge.segments, spot)[0])


def _edge_at(piece: Piece, spot: Point) -> Edge | None:
    """The edge that the spot lies on."""
    edge = min(piece.edges, key=lambda one: run_nearest(one.segments, spot)[1])
    return edge if run_nearest(edge.segments, spot)[1] <= NOTCH_MIDDLE_MM else None


def _landmarks(marks: _Marks) -> dict[str, Point]:
    """Landmarks by their own names, else by the words beside them, else by number."""
    words = [word for word in marks.words if word.kind == "landmark"]
    strokes = [(stroke.part, point_at(stroke.segments[0], 0.5)) for stroke in marks.strokes["landmark"]]
    dots = [(dot.part, dot.at) for dot in marks.dots if dot.kind == "landmark"]
    found: dict[str, Point] = {}
    for name, at in strokes:
        near = [word for word in words if distance(word.at, at) <= NAME_NEAR_MM]
        called = name or (min(near, key=lambda word: distance(word.at, at)).text.replace(" ", "-") if near else "")
        if called:
            found.setdefault(called, at)
    for n, (name, at) in enumerate(dots, 1):
        found.setdefault(name or f"landmark-{n}", at)
    return found
