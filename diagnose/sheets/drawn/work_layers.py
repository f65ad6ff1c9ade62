"""The work on the paper as marks of a drawing: what is folded away, laid in and moved, with its lines and letters.

Zones say it (`diagnose.pattern.altered`); nothing is found out from the outlines. Millimetres, on the piece as stored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, product
from operator import itemgetter

from msgspec import Struct
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from diagnose.pattern.altered import (
    EdgeParts,
    EndSet,
    PaperOpened,
    PartMoved,
    RunRedrawn,
    SlitOpened,
    StripFolded,
    WedgeClosed,
    Zone,
)
from diagnose.pattern.geometry.bezier import Box, flatten
from diagnose.pattern.geometry.plane import Affine, across, add, along, distance, scaled, sub, turned, unit
from diagnose.pattern.geometry.runs import run_length, run_point_at
from diagnose.pattern.in_words import Bones, bone_number, piece_title, slit_title
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Piece, Point, Polyline, Segment
from diagnose.sheets.drawn.differences import LEAST_SHOWN_MM, paper_of, patches_of
from diagnose.sheets.drawn.drawing import Area, Mark, Measure, Path, Text, arrow_head, carried_mark, polyline
from diagnose.sheets.drawn.letters import words_wide
from diagnose.units import Unit, short

__all__ = [
    "Lettered", "Moved", "Work", "gore_over", "letter_marks", "letter_text", "letter_ways", "number_marks",
    "work_marks", "work_on",
]  # fmt: skip

LEAST_ARROW_MM = 2.0
WORK_CHORD_TOL_MM = 0.3
SEEN_DECIMALS = 3
"""Of a mm; what differs by less looks the same."""
CLEAR_LETTERS = 1.5
"""A letter is clear of another whose middle is so many letters away."""
Spots = Sequence[tuple[str, Point]]


class Lettered(Struct, frozen=True):
    """A mark that a step sets: its letter, the piece that it is set on, and where it lies there."""

    mark: str
    piece: str
    spot: Point


class Moved(Struct, frozen=True):
    """From where to where a part moved."""

    start: Point
    end: Point


class Work(Struct, frozen=True):
    """What is drawn of the work on one piece that was cut: paper, lines and ways of the work, dimensions.

    It lies on the piece as stored, its dimensions set in letters 1 mm high.
    """

    taken: tuple[Area, ...]
    added: tuple[Area, ...]
    lines: tuple[Path | Moved, ...]
    measures: tuple[Measure, ...]


def work_on(piece: Piece, zones: Sequence[Zone], names: Sequence[str], unit_: Unit) -> Work | None:
    """The work on a piece; None where nothing was folded, spread or slit in it.

    Args:
        piece: as it is now.
        zones: all that was done.
        names: the names under which the piece was worked on.
        unit_: of the dimensions.
    """
    own = [zone for zone in zones if zone.piece in names]
    if not any(isinstance(zone, StripFolded | WedgeClosed | PaperOpened | SlitOpened) for zone in own):
        return None
    taken, added = list[Area](), list[Area]()
    lines, measures = list[Path | Moved](), list[Measure]()
    for zone in own:
        match zone:
            case StripFolded():
                taken.append(Area((zone.ring,)))
                lines += [polyline(zone.moving), polyline(zone.still)]
                ends = ((zone.moving[n], zone.still[n], zone.widths[n]) for n in (0, -1))
                measures += [_width(a, b, by, unit_=unit_) for a, b, by in ends if by > LEAST_SHOWN_MM]
            case WedgeClosed():
                taken.append(Area((zone.ring,)))
                lines += [polyline((zone.moving, zone.point, zone.still))]
                if zone.width > LEAST_SHOWN_MM:
                    measures.append(_width(zone.moving, zone.still, zone.width, unit_=unit_))
            case PaperOpened():
                added.append(Area((zone.ring,)))
                lines.append(polyline(zone.cut))
                half = (len(zone.ring) + 1) // 2
                apart = zip((0, half - 1), (-1, half), zone.widths, strict=True)
                measures += [
                    _width(zone.ring[a], zone.ring[b], by, unit_=unit_) for a, b, by in apart if by > LEAST_SHOWN_MM
                ]
            case SlitOpened():
                wedge = gore_over(zone.line, zone.width)
                added.append(Area((wedge,)))
                lines.append(polyline((wedge[1], wedge[0], wedge[2])))
                words = f"gore {short(zone.width, unit_)}"
                measures.append(Measure(wedge[1], wedge[2], words, size_mm=1.0, edge="work", at=""))
            case PartMoved():
                lines += _moved(zone)
            case RunRedrawn():
                between = _between(zone)
                taken += patches_of(between.difference(paper_of(piece)))
                added += patches_of(between.intersection(paper_of(piece)))
            case EdgeParts() | EndSet():  # what is trued after them is drawn
                pass
    return Work(tuple(taken), tuple(added), tuple(lines), measures=tuple(measures))


def _width(a: Point, b: Point, by: float, unit_: Unit) -> Measure:
    return Measure(a, b, short(by, unit_), size_mm=1.0, edge="work", at="")


def gore_over(line: Polyline, width: float) -> tuple[Point, Point, Point]:
    """The gore laid over its slit, whose line begins at the foot: tip and both feet."""
    foot, tip = line[0], line[-1]
    angle = width / max(1.0, distance(foot, tip)) / 2.0
    axis = sub(foot, tip)
    return tip, add(tip, turned(axis, angle)), add(tip, turned(axis, -angle))


def _moved(zone: PartMoved) -> Iterator[Moved]:
    """From where the part lay to where it lies, at the middle of its longest stretch of edge."""
    runs = [run for _, run in zone.runs]
    if not runs:
        return
    run = max(runs, key=run_length)
    start = run_point_at(run, run_length(run) / 2.0)
    end = zone.move(start)
    if distance(start, end) >= LEAST_ARROW_MM:
        yield Moved(start, end)


def work_marks(lines: Iterable[Path | Moved], move: Affine, size_mm: float) -> Iterator[Mark]:
    """The lines of the work where the move puts the piece, and an arrow for each part that moved."""
    for line in lines:
        if isinstance(line, Path):
            yield carried_mark(line, move)
            continue
        start, end = move(line.start), move(line.end)
        tail = add(end, scaled(unit(sub(start, end)), max(distance(start, end), size_mm * 2.2)))
        yield polyline((tail, end))
        yield arrow_head(end, tail, min(size_mm * 0.9, distance(tail, end)))


def _between(zone: RunRedrawn) -> BaseGeometry:
    """The paper between a stretch as it was and as it was drawn."""
    points = [*_flat(zone.old), *reversed(_flat(zone.new))]
    return Polygon(points).buffer(0.0) if len(points) > 3 else Polygon()


def _flat(run: Sequence[Segment]) -> list[Point]:
    return [point for segment in run for point in flatten(segment, WORK_CHORD_TOL_MM)]


def letter_marks(
    piece: Piece, spots: Spots, size_mm: float, beside: Sequence[Mark] = (), within: Box | None = None
) -> Iterator[Mark]:
    """A cross and its letter for each mark of the steps, set apart from one another and from the words beside them.

    Args:
        piece: on which they are.
        spots: the marks, each with its letter.
        size_mm: how high the letters are.
        beside: words that they keep clear of.
        within: where they have to lie; anywhere when left out.
    """
    middle, arm = bounds(piece).middle, size_mm * 0.22
    taken = [*(spot for _, spot in spots), *(mark.at for mark in beside if isinstance(mark, Text))]
    for mark, at in spots:
        for up in (arm, -arm):
            yield polyline((Point(at.x - arm, at.y - up), Point(at.x + arm, at.y + up)))
        half = words_wide(mark, size_mm, bold=True) / 2.0
        spot = _clear(letter_ways(at, middle, size_mm), half, size_mm, taken=taken, within=within)
        taken.append(spot)
        yield letter_text(mark, spot, size_mm)


def letter_ways(at: Point, middle: Point, size_mm: float) -> Iterator[Point]:
    """Where the letter of a mark may stand, the best place first: on the side away from the middle of the piece."""
    away = unit(sub(at, middle)) if at != middle else Point(0.0, 1.0)
    for far in (1.0, 1.5, 2.1, 2.8):
        for angle in (0.0, 0.8, -0.8, 1.6, -1.6, 2.4, -2.4):
            yield add(at, scaled(turned(away, angle), size_mm * far))


def letter_text(mark: str, middle: Point, size_mm: float) -> Text:
    """A letter round its middle."""
    return Text(mark, Point(middle.x, middle.y - size_mm * 0.36), size_mm, anchor="middle", bold=True)


def _clear(ways: Iterable[Point], half: float, size_mm: float, taken: Sequence[Point], within: Box | None) -> Point:
    """The first place at which a letter stands clear of others, to what is seen of it; else the clearest.

    A place where it would lie beyond its frame is the last.
    """
    enough, less = round(size_mm * CLEAR_LETTERS, SEEN_DECIMALS), list[tuple[float, Point]]()
    for spot in ways:
        corners = product((spot.x - half, spot.x + half), (spot.y - 0.7 * size_mm, spot.y + 0.6 * size_mm))
        beyond = within is not None and any(within.off(Point(*corner)) > 0.0 for corner in corners)
        worth = -1.0 if beyond else round(_room(spot, taken), SEEN_DECIMALS)
        if worth >= enough:
            return spot
        less.append((worth, spot))
    return max(less, key=itemgetter(0))[1]


def _room(spot: Point, taken: Sequence[Point]) -> float:
    return min((distance(spot, other) for other in taken), default=1e9)


def number_marks(piece: Piece, bones: Bones, size_mm: float) -> Iterator[Mark]:
    """Each channel's number near its upper end, and each slit's name at its tip."""
    taken = list[Point]()
    for channel in piece.channels:
        line = channel.line if channel.line[0].y >= channel.line[-1].y else channel.line[::-1]
        first, after = next(pairwise(line))
        size = max(1.0, distance(first, after))
        down = (along(first, after, min(0.9, size_mm * far / size)) for far in (1.5, 2.8, 4.1, 5.4, 6.7))
        # Numbers of channels that lie close together stand one beneath the other.
        at = next((spot for spot in down if _room(spot, taken) > size_mm * 1.25), along(first, after, 0.5))
        taken.append(at)
        number = bone_number(bones, piece.name, channel.name)
        spot = Point(at.x, at.y - size_mm * 0.36)
        yield Text(number, spot, size_mm, anchor="middle", told=f"bone {number}, {piece_title(piece.name)}")
    for slit in piece.slits:
        foot, tip = slit.line[0], slit.line[-1]
        aside = scaled(across(unit(sub(tip, foot))), size_mm * 0.9)
        at = add(add(tip, aside), scaled(unit(sub(foot, tip)), size_mm))
        name = slit.name.rsplit("-", 1)[-1].removeprefix("s") or slit.name
        told = f"{slit_title(slit.name)}, {piece_title(piece.name)}"
        yield Text(name, Point(at.x, at.y - size_mm * 0.36), size_mm, anchor="middle", bold=True, told=told)
