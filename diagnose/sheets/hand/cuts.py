"""Folds, spreads, darts and changes of length: marks, lines, what moves, and the truing after it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from diagnose.pattern.geometry.curves import line_hits, point_at
from diagnose.pattern.geometry.plane import UNMOVED, Affine, across, add, along, distance, dot, scaled, sub, turn, unit
from diagnose.pattern.moved.strip import Strip
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.outline import Pattern, Piece, Point
from diagnose.sheets.hand.figures import Closing, CutAcross, Figure, Folding, HandStep, Spreading, Square
from diagnose.sheets.hand.pictures import picture
from diagnose.sheets.hand.places import Desk, Found, on_edge, piece_words, side_words, way_words, within
from diagnose.sheets.hand.truing import merged, truing_steps

__all__ = ["dart_steps", "fold_steps", "length_steps"]

AT_WAIST_MM = 0.01


def fold_steps(desk: Desk, do: Fold, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """The line, the strip, the closing of it (or the cut and the opening), and the truing."""
    piece = before.piece(do.piece)
    a_spot, b_spot = _through(piece, do.from_, do.to)
    widths = [desk.read(_width(do, spot)) for spot in (a_spot, b_spot)]
    a, b = on_edge(desk, piece, a_spot), on_edge(desk, piece, b_spot)
    yield _ruled(piece, a, b)
    if min(widths) >= 0.0:
        yield from _strip(desk, piece, do, (a, b), (widths[0], widths[1]))
    else:
        yield _spread(desk, piece, do, (a, b), (widths[0], widths[1]))
    moving = 1.0 if do.move == "left" else -1.0
    moves = Strip(do.from_, do.to, (do.amount_from, do.amount_to), moving=moving).move()
    left = scaled(across(unit(sub(b_spot, a_spot))), 0.5)
    cuts = [add(spot, scaled(left, way * max(0.0, width))) for spot, width in zip((a_spot, b_spot), widths, strict=True)
            for way in (1.0, -1.0)]  # fmt: skip
    yield from truing_steps(desk, piece, after.piece(do.piece), moves, cuts)


def _through(piece: Piece, start: Point, end: Point) -> tuple[Point, Point]:
    """Where the line from→to first and last meets the outline."""
    slack = 4.0 / distance(start, end)
    hits = [
        (s, point_at(segment, t))
        for edge in piece.edges
        for segment in edge.segments
        for t, s in line_hits(segment, start, end)
        if -slack <= s <= 1.0 + slack
    ]
    return min(hits)[1], max(hits)[1]


def _width(do: Fold, spot: Point) -> float:
    """The width of the strip there: it runs evenly from one end of the line to the other."""
    span = sub(do.to, do.from_)
    off = sub(spot, do.from_)
    part = (off.x * span.x + off.y * span.y) / (span.x * span.x + span.y * span.y)
    return do.amount_from + (do.amount_to - do.amount_from) * part


def _ruled(piece: Piece, a: Found, b: Found) -> HandStep:
    text = f"On {piece_words(piece)}, {a.words}; {b.words}. Rule a line from {a.mark} to {b.mark}."
    spots = {a.mark: a.spot, b.mark: b.spot}
    return HandStep(text, (), (*a.figures, *b.figures), picture(piece, spots, lines=((a.spot, b.spot),), title=text))


def _strip(
    desk: Desk, piece: Piece, do: Fold, ends: tuple[Found, Found], widths: tuple[float, float]
) -> Iterator[HandStep]:
    """Half the width to each side of the line, the moving part's line laid on the other."""
    a, b = ends
    left = across(unit(sub(b.spot, a.spot)))
    way = 1.0 if do.move == "left" else -1.0
    rows: list[tuple[str, str]] = []
    figures: list[Figure] = []
    spots: dict[str, Point] = {}
    names: dict[float, list[str]] = {1.0: [], -1.0: []}
    for end, width in zip(ends, widths, strict=True):
        halves = {way: desk.read(width / 2.0)}
        halves[-way] = width - halves[way]
        for side, half in halves.items():
            name = f"{end.mark}{1 if side == way else 2}" if width else end.mark
            names[side].append(name)
            spots[name] = add(end.spot, scaled(left, side * half))
            if width:
                figures.append(Square(name, piece.name, end.mark, (a.mark, b.mark), side * half))
        rows.append(_strip_row(desk, end.mark, width, halves, left, way))
    moving, still = (names[way][0], names[way][1]), (names[-way][0], names[-way][1])
    text = f"Mark the strip square to the line {a.mark}–{b.mark}, and rule {_line(moving)} and {_line(still)}:"
    patch = tuple(spots[n] for n in (*moving, *reversed(still)))
    lines = ([spots[n] for n in moving], [spots[n] for n in still])
    drawing = picture(piece, spots, lines=lines, patches=(patch,), title=text)
    yield HandStep(text, tuple(rows), tuple(figures), drawing)
    part = side_words(piece, a.spot, b.spot, way)
    text = f"Crease {_line(moving)} and lay it on {_line(still)}, so that the strip is folded away: {part} moves. "
    text += "Stick it down flat."
    yield HandStep(text, (), (Folding(piece.name, moving, still),), picture(piece, spots, patches=(patch,), title=text))


def _strip_row(
    desk: Desk, mark: str, width: float, halves: dict[float, float], left: Point, way: float
) -> tuple[str, str]:
    if not width:
        return f"at {mark}", "nothing: the two lines meet there"
    parts = [
        f"{desk.say(half)} {way_words(scaled(left, side))} ({mark}{1 if side == way else 2})"
        for side, half in halves.items()
    ]
    return f"at {mark}", f"{desk.say(width)} wide: {' and '.join(parts)}"


def _line(marks: tuple[str, str]) -> str:
    return "–".join(marks)


def _spread(desk: Desk, piece: Piece, do: Fold, ends: tuple[Found, Found], widths: tuple[float, float]) -> HandStep:
    a, b = ends
    way = 1.0 if do.move == "left" else -1.0
    part = side_words(piece, a.spot, b.spot, way)
    said = [_apart(desk, end.mark, width) for end, width in zip(ends, widths, strict=True)]
    text = f"Cut along {a.mark}–{b.mark}. Move {part} until the cut edges {said[0]} and {said[1]}. "
    text += "Stick paper behind."
    left = scaled(across(unit(sub(b.spot, a.spot))), way)
    patch = (a.spot, add(a.spot, scaled(left, -widths[0])), add(b.spot, scaled(left, -widths[1])), b.spot)
    figure = Spreading(piece.name, (a.mark, b.mark), (-widths[0], -widths[1]), do.move)
    drawing = picture(piece, {a.mark: a.spot, b.mark: b.spot}, lines=((a.spot, b.spot),), patches=(patch,), title=text)
    return HandStep(text, (), (figure,), drawing)


def _apart(desk: Desk, mark: str, width: float) -> str:
    if not width:
        return f"still meet at {mark}"
    return f"lap over {desk.say(width)} at {mark}" if width > 0.0 else f"stand {desk.say(width)} apart at {mark}"


def dart_steps(desk: Desk, do: Dart, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """The dart's middle line and legs, the slash, the closing, and the truing."""
    piece = before.piece(do.piece)
    mouth, point = on_edge(desk, piece, do.mouth), within(desk, piece, do.point)
    relief = on_edge(desk, piece, do.relief) if do.relief else None
    text = f"On {piece_words(piece)}, {mouth.words}; {point.words}. Rule {mouth.mark}–{point.mark}."
    spots = {found.mark: found.spot for found in (mouth, point, relief) if found}
    lines = [(mouth.spot, point.spot)]
    figures = [*mouth.figures, *point.figures]
    if relief:
        text = text[:-1] + f"; {relief.words}, and rule {point.mark}–{relief.mark}."
        lines.append((point.spot, relief.spot))
        figures += relief.figures
    yield HandStep(text, (), tuple(figures), picture(piece, spots, lines=lines, title=text))
    new = after.piece(do.piece)
    way = min((1.0, -1.0), key=lambda side: _misfit(piece, new, _turned(do, side)))
    yield from _closed(desk, piece, (mouth, point, relief), do.width, way)
    legs = [turn(do.point, side * _half_angle(do))(do.mouth) for side in (1.0, -1.0)]
    yield from truing_steps(desk, piece, new, _turned(do, way), [*legs, do.relief or do.point])


def _half_angle(do: Dart) -> float:
    return math.asin(do.width / (2.0 * distance(do.mouth, do.point)))


def _turned(do: Dart, way: float) -> Affine:
    """How the paper on that side of point→mouth (1 left, -1 right) is turned to close the dart."""
    return turn(do.point, -2.0 * way * _half_angle(do))


def _misfit(old: Piece, new: Piece, move: Affine) -> float:
    """How badly the corners of the new piece lie on those of the old one, as they lay or as carried."""
    spots = [edge.start for edge in old.edges]
    laid = [*spots, *(move(spot) for spot in spots)]
    return sum(min(distance(edge.start, spot) for spot in laid) for edge in new.edges)


class _Legs(NamedTuple):
    """A dart on the table: its point, and its two legs' marks; `one` is on the side that turns."""

    point: Found
    one: str
    two: str
    spots: dict[str, Point]


def _closed(
    desk: Desk, piece: Piece, places: tuple[Found, Found, Found | None], width: float, way: float
) -> Iterator[HandStep]:
    """The legs marked, and the dart closed."""
    mouth, point, relief = places
    whole = desk.read(width)
    halves = (desk.read(whole / 2.0), whole - desk.read(whole / 2.0))
    left = scaled(across(unit(sub(mouth.spot, point.spot))), way)
    one, two = f"{mouth.mark}1", f"{mouth.mark}2"
    spots = {
        point.mark: point.spot,
        one: add(mouth.spot, scaled(left, halves[0])),
        two: add(mouth.spot, scaled(left, -halves[1])),
    }
    line = (mouth.mark, point.mark) if way < 0 else (point.mark, mouth.mark)
    squares = tuple(
        Square(name, piece.name, mouth.mark, line, by) for name, by in ((one, halves[0]), (two, -halves[1]))
    )
    text = (
        f"The dart is {desk.say(whole)} wide: square to {mouth.mark}–{point.mark} mark {one} {desk.say(halves[0])} "
        f"{way_words(left)}, and {two} {desk.say(halves[1])} on the other side. Rule both to {point.mark}."
    )
    lines = [(spots[one], point.spot), (spots[two], point.spot)]
    yield HandStep(text, (), squares, picture(piece, spots, lines=lines, patches=(_wedge(spots),), title=text))
    ratio = distance(relief.spot, point.spot) / distance(mouth.spot, point.spot) if relief else 0.0
    yield _shut(desk, piece, _Legs(point, one, two, spots), relief, desk.read(whole * ratio))


def _wedge(spots: dict[str, Point]) -> tuple[Point, ...]:
    return tuple(spots.values())


def _shut(desk: Desk, piece: Piece, legs: _Legs, relief: Found | None, opens: float) -> HandStep:
    """The one leg laid on the other; with a relief, the cut to it opens."""
    one, two, point = legs.one, legs.two, legs.point
    lay = f"Crease {one}–{point.mark} and lay it on {two}–{point.mark}"
    figure = Closing(piece.name, point.mark, one, two, relief.mark if relief else None, opens if relief else None)
    if relief is None:
        text = f"{lay}; stick it down flat."
        return HandStep(text, (), (figure,), picture(piece, legs.spots, patches=(_wedge(legs.spots),), title=text))
    text = f"Cut {relief.mark}–{point.mark}. {lay}. "
    text += f"The cut opens {desk.say(opens)} at {relief.mark}: check it, and stick paper behind."
    shown = {**legs.spots, relief.mark: relief.spot}
    cut = ((point.spot, relief.spot),)
    drawing = picture(piece, shown, lines=cut, patches=(_wedge(legs.spots),), title=text)
    return HandStep(text, (), (figure,), drawing)


def length_steps(desk: Desk, do: Length, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """One line through all pieces, folded out or spread, and the truing."""
    names = [piece.name for piece in before.pieces if after.piece(piece.name) != piece]
    if not names:
        return
    amount, offset = desk.read(do.amount), desk.read(do.offset)
    where = f"{desk.say(offset)} {'above' if offset > 0 else 'below'} the {do.station} level" if offset else (
        f"on the {do.station} level")  # fmt: skip
    pieces = "On every piece" if len(names) == len(before.pieces) else f"On {', '.join(names)}"
    text = f"{pieces}, mark the grain line {where}, and through the mark rule a line square to the grain, right across."
    figure = CutAcross(tuple(names), do.station, offset, amount)
    shown = before.piece(names[0])
    lines = _level_line(shown, do)
    yield HandStep(text, (), (figure,), picture(shown, {}, lines=(lines,), title=text))
    half = desk.read(abs(amount) / 2.0)
    if amount > 0.0:
        text = f"Rule two more lines, {desk.say(half)} above and {desk.say(amount - half)} below it. Fold the one on "
        text += f"to the other and stick it down: every piece is {desk.say(amount)} shorter."
    else:
        text = f"Cut along the line, draw the parts {desk.say(amount)} apart along the grain and stick paper behind."
    yield HandStep(text, (), (), picture(shown, {}, lines=(lines,), title=text))
    trued = [
        step
        for name in names
        for step in truing_steps(desk, before.piece(name), after.piece(name), _carry(before.piece(name), do))
    ]
    yield from merged(trued)


def _up(piece: Piece) -> Point:
    if piece.grain is None:
        return Point(0.0, 1.0)
    way = unit(sub(piece.grain[1], piece.grain[0]))
    return way if way.y >= 0.0 else scaled(way, -1.0)


def _carry(piece: Piece, do: Length) -> Affine:
    """How the part away from the waist moves on that piece: along its grain, towards the waist when shorter."""
    up = _up(piece)
    above = do.station not in ("hip", "bottom")
    if "waist" in piece.levels:
        level, waist = piece.level(do.station), piece.level("waist")
        rise = sub(along(level[0], level[-1], 0.5), along(waist[0], waist[-1], 0.5))
        above = dot(rise, up) + do.offset >= -AT_WAIST_MM
    by = scaled(up, -do.amount if above else do.amount)
    return Affine(dx=by.x, dy=by.y) if do.amount else UNMOVED


def _level_line(piece: Piece, do: Length) -> tuple[Point, Point]:
    level = piece.level(do.station)
    up = _up(piece)
    at = add(along(level[0], level[-1], 0.5), scaled(up, do.offset))
    wide = scaled(Point(up.y, -up.x), distance(level[0], level[-1]) * 0.62)
    return sub(at, wide), add(at, wide)
