"""Figures of the flat pattern: darts, wedges, curves, lengths, tapes and print."""

from __future__ import annotations

import math
import re
from itertools import product

from registry import INCH, alone, base, diagnosis, figures_of, reading, trapezoid

from diagnose.pattern.brought import load_pattern
from diagnose.pattern.brought.understood.scale import SCALE_TOL_RATIO
from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import moved
from diagnose.pattern.geometry.plane import Affine, distance
from diagnose.pattern.geometry.smooth_amounts import Knot, Profile
from diagnose.pattern.measure import garment_girth, seam_difference, station_width
from diagnose.pattern.moved.redraw import Shift, displaced
from diagnose.pattern.operations import do
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.outline import Channel, Cubic, Pattern, Piece, Point
from diagnose.pattern.tolerances import SEAM_MATCH_TOL_MM
from diagnose.places import bundled_cases
from diagnose.units import parse_length

PANELS = "six-panel-corset.json"


def bundled(name: str = PANELS) -> Pattern:
    return load_pattern(bundled_cases() / "patterns" / name)


def upright(width: float, height: float, *channels: tuple[float, float]) -> Piece:
    """An oblong (inches) with upright channels from one height up, at those places (x, y)."""
    w, h = width * INCH, height * INCH
    marked = tuple(
        Channel(f"c{n}", (Point(x * INCH, y * INCH), Point(x * INCH, (y + 1) * INCH)), 9.5)
        for n, (x, y) in enumerate(channels)
    )
    return trapezoid((0, 0), (w, 0), (w, h), (0, h), channels=marked)


def turned_deg(piece: Piece, number: int = 0) -> float:
    """By how much a channel that stood upright leans now."""
    low, high = piece.channels[number].line[0], piece.channels[number].line[-1]
    return math.degrees(abs(math.atan2(high.x - low.x, high.y - low.y)))


def closed_dart(width: float, long: float, relief: float) -> Piece:
    """An oblong whose dart from the neck has been closed; the slash runs level from its point to the back edge."""
    piece = upright(6 + relief, 20, (6 + relief - 0.5, 20 - long + 0.5))
    tip = Point(6 * INCH, (20 - long) * INCH)
    cut = Dart("sheet", Point(6 * INCH, 20 * INCH), width * INCH, tip, Point((6 + relief) * INCH, tip.y), "right")
    return cut.done(alone(piece)).pattern.pieces[0]


def opened(width: float, long: float, relief: float) -> float:
    """How far the slash stands open at its edge: the chord that the edge's end travels about the dart's point."""
    return 2 * relief * INCH * math.sin(math.radians(turned_deg(closed_dart(width, long, relief))) / 2)


# Source: Practical Dress Design, p. 31: what a dart keeps when it is moved is its angle.
@figures_of("dart-moved")
def dart_moved() -> tuple[float | str, ...]:
    return opened(1.5, 8, 5), opened(1.5, 8, 4), turned_deg(closed_dart(1.5, 8, 5))


# Geometry: the width of a dart for its length, 2 sin(angle / 2).
@figures_of("dart-angles")
def dart_angles() -> tuple[float | str, ...]:
    return tuple(turned_deg(closed_dart(8 * ratio, 8, 4)) for ratio in (0.1743, 0.2611, 0.3473, 0.4329, 0.5176))


def bulged(chord: float, bulge: float) -> float:
    """The length less the chord of an edge that bulges (inches) in an arc of a circle."""
    radius = (chord * chord / 4 + bulge * bulge) / (2 * bulge)
    half = math.asin(chord / (2 * radius))
    handle = 4 / 3 * math.tan(half / 2) * radius
    ahead = Point(math.cos(half) * handle, math.sin(half) * handle)
    arc = Cubic(Point(0, 0), ahead, Point(chord - ahead.x, ahead.y), Point(chord, 0))
    return (length(moved(arc, Affine(INCH, 0, 0, INCH, 0, 0))) / INCH - chord) * INCH


# Geometry: an arc is longer than its chord by about 8 h h / 3 c.
@figures_of("arc-and-chord")
def arc_and_chord() -> tuple[float | str, ...]:
    return bulged(6, 0.25), bulged(6, 0.5), bulged(6, 1)


def sloping(angle_deg: float, width: float = 8.0, height: float = 16.0) -> Piece:
    """A panel that widens upward, its back edge leaning by the angle, with waist and top levels."""
    out = height * math.tan(math.radians(angle_deg))
    level = {
        name: (Point(-INCH, y * INCH), Point((width + out + 1) * INCH, y * INCH))
        for name, y in {"top": 15.0, "underbust": 12.0, "waist": 8.0, "bottom": 1.0}.items()
    }
    corners = ((0.0, 0.0), (width * INCH, 0.0), ((width + out) * INCH, height * INCH), (0.0, height * INCH))
    return trapezoid(*corners, levels=level)


def stepped(angle_deg: float) -> float:
    """How far the back edge's two parts lie aside of each other, level, after 1 in is folded out of the length."""
    done = Length("waist", 2.5 * INCH, INCH).done(alone(sloping(angle_deg))).pattern.pieces[0].edge("back")
    slope = math.tan(math.radians(angle_deg))
    return (done.end.x - done.start.x) - (done.end.y - done.start.y) * slope


# Geometry: a fold of e across an edge that leans by a leaves a step of e tan a.
@figures_of("step-at-a-slope")
def step_at_slope() -> tuple[float | str, ...]:
    return stepped(10), stepped(15), stepped(20)


# Geometry, worked by hand: the front widened 3/4 in at the top, the hinge at the waist 9 in below.
@figures_of("spread-from-a-hinge")
def spread() -> tuple[float | str, ...]:
    level = (Point(-INCH, 4 * INCH), Point(12 * INCH, 4 * INCH))
    piece = trapezoid((0, 0), (8 * INCH, 0), (8 * INCH, 9 * INCH), (0, 9 * INCH), levels={"underbust": level})
    cut = Fold("sheet", Point(4 * INCH, 0), Point(4 * INCH, 9 * INCH), 0.0, -0.75 * INCH, "right")
    after = cut.done(alone(piece)).pattern.pieces[0]
    return (station_width(after, "underbust") - station_width(piece, "underbust"),)


# Geometry, worked by hand: 1/2 in pinched out at the back, the hinge 7 in in front of it.
@figures_of("wedge-of-a-hollow-back")
def hollow_back() -> tuple[float | str, ...]:
    piece = upright(7, 20, (6.9, 11))
    cut = Fold("sheet", Point(0, 10 * INCH), Point(7 * INCH, 10 * INCH), 0.0, 0.5 * INCH, "left")
    angle = turned_deg(cut.done(alone(piece)).pattern.pieces[0])
    return angle, 9 * INCH * math.tan(math.radians(angle))


# Source: a university costume textbook, chapter on altering patterns: half of a tuck lies each side of its line.
@figures_of("half-the-tuck-each-side")
def tuck() -> tuple[float | str, ...]:
    marks = {"above": Point(0, 8.5 * INCH), "below": Point(0, 7.5 * INCH)}
    piece = trapezoid((0, 0), (200, 0), (200, 16 * INCH), (0, 16 * INCH), landmarks=marks)
    cut = Fold("sheet", Point(0, 8 * INCH), Point(200, 8 * INCH), INCH, INCH, "left")
    after = cut.done(alone(piece)).pattern.pieces[0].landmarks
    return (distance(after["above"], after["below"]),)


# Source: The New Dressmaker, about 1921: the line for the length lies 2 1/2 in above the waist.
@figures_of("length-line")
def length_line() -> tuple[float | str, ...]:
    offset = parse_length(str(base().entries.alterations["shorten-above-waist"].does[0].of_its_verb["offset"]))
    assert offset is not None
    return (offset,)


def partners_after(shortened: Pattern) -> float:
    return max(abs(seam_difference(shortened, seam)) for seam in shortened.seams)


def planned(pattern: Pattern, **raw: object) -> Pattern:
    """The pattern with every step of the first round drawn."""
    for step in diagnosis(pattern, **raw).rounds[0].steps:
        pattern = do(pattern, step.operations).pattern
    return pattern


# Source: "10 Patternwork Skills", Threads no. 200: partner edges true to 1/16 in, as one teacher keeps it.
@figures_of("seams-true")
def seams_true() -> tuple[float | str, ...]:
    gaps = ({"top": 0.5, "waist": 0.5, "bottom": 0.5}, {"top": 2, "waist": 2, "bottom": 3.5})
    drawn = [planned(bundled(), gap={name: g * INCH for name, g in gap.items()}, target="2 in") for gap in gaps]
    return max(map(partners_after, drawn)), SEAM_MATCH_TOL_MM


# Source: S. Veblen, a page on blending: careless blending must not lose 1/8 in; ours is held to 1/32 in.
@figures_of("blending")
def blending() -> tuple[float | str, ...]:
    lost = []
    for angle, offset in product((5, 10, 15, 20), (0.75, 1.0, 2.0, 2.5, 3.0, 3.25)):
        before = sloping(angle)
        after = Length("waist", offset * INCH, INCH).done(alone(before)).pattern.pieces[0]
        # Above the line the paper only slides down, below it stays: no level of its own should lose any width.
        lost += [station_width(before, name) - station_width(after, name) for name in before.levels]
    return (max(lost),)


def oval(across: float, deep: float) -> tuple[Cubic, ...]:
    """A smooth closed line round the body, counter-clockwise: four arcs."""
    k = 4 / 3 * (math.sqrt(2) - 1)
    ring = [(1, 0), (1, k), (k, 1), (0, 1), (-k, 1), (-1, k), (-1, 0), (-1, -k), (-k, -1), (0, -1), (k, -1), (1, -k)]
    points = [Point(x * across, y * deep) for x, y in [*ring, ring[0]]]
    return tuple(Cubic(*points[n : n + 4]) for n in range(0, 12, 3))


def outside_less_inside(thick: float) -> float:
    """By how much the outside of a wall is longer round than its inside, inches in, mm out."""
    inside = oval(110.0, 80.0)
    total = sum(map(length, inside))
    shift = Shift(Profile((Knot(0.0, -thick * INCH), Knot(total, -thick * INCH))))
    return sum(length(part) for segment in inside for part in displaced(segment, shift)) - total


# Geometry: round any closed curve a wall of thickness t adds 2 pi t; a maker's page reports 1 to 2 in on 24 in.
@figures_of("tape-over-the-outside")
def outside_tape() -> tuple[float | str, ...]:
    return outside_less_inside(1 / 8), 24 * INCH + outside_less_inside(5 / 32)


def printed(body: float, ratio: float) -> float:
    """What a pattern of that girth (inches) comes to when it is printed at a ratio of its size."""
    half = body / 2 * INCH
    level = (Point(0, 100), Point(half, 100))
    drawn = trapezoid((0, 0), (half, 0), (half, 200), (0, 200), levels={"waist": level})
    by = Affine(ratio, 0, 0, ratio, 0, 0)
    edges = {edge.name: tuple(moved(segment, by) for segment in edge.segments) for edge in drawn.edges}
    corners = [edges[name][0].start for name in ("hem", "back", "neck", "front")]
    levels = {"waist": (by(level[0]), by(level[1]))}
    return garment_girth(alone(trapezoid(*corners, levels=levels)), "waist") or 0.0


# Common practice, no source, worked by proportion: what a test square that does not measure true costs.
@figures_of("print-scale")
def print_scale() -> tuple[float | str, ...]:
    small = printed(26, 3.9 / 4)
    wider = reading(gap={"waist": 2 * INCH + 26 * INCH - small}, target="2 in").stations["waist"].excess_mm
    return printed(40, 15 / 16), 26 * INCH - small, wider, SCALE_TOL_RATIO


# Common practice, no source: 3/8 in stitched for a bone of 1/4 in by 1/16 in, that is width, thickness and 1/16 in.
@figures_of("channel-of-a-bone")
def channel() -> tuple[float | str, ...]:
    words = " ".join(base().entries.alterations["change-bones-or-lacing"].by_hand)
    said = re.search(r"the bone's width and thickness and (\S+ in)", words)
    assert said is not None
    play = parse_length(said[1])
    assert play is not None
    widths = {round(channel.width, 3) for piece in bundled().pieces for channel in piece.channels}
    return 0.25 * INCH + INCH / 16 + play, min(widths), max(widths)
