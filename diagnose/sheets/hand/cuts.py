"""Folds, spreads, darts and changes of length: marks, lines, what moves, and the truing after it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from diagnose.pattern.altered import Altered, PaperOpened, StripFolded, WedgeClosed
from diagnose.pattern.geometry.plane import across, add, cross, distance, dot, scaled, sub, unit
from diagnose.pattern.in_words import piece_title, piece_words
from diagnose.pattern.moved.band import as_heights
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.level_order import grain_up
from diagnose.pattern.outline import Pattern, Piece, Point, Polyline
from diagnose.sentences import listed, upper_first
from diagnose.sheets.hand.figures import Closing, CutAcross, Figure, Folding, HandStep, Spreading, Square
from diagnose.sheets.hand.paper_places import Desk, Found, on_edge, side_words, way_words, within
from diagnose.sheets.hand.pictures import Picture
from diagnose.sheets.hand.truing import PENCIL_MM, truing_steps

__all__ = ["dart_steps", "fold_steps", "length_steps"]


def fold_steps(desk: Desk, do: Fold, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The line, the strip, the closing of it (or the cut and the opening), and the truing."""
    piece = before.piece(do.piece)
    parts = [zone for zone in made.zones if isinstance(zone, StripFolded | PaperOpened)]
    if not parts:
        return
    (a_spot, a_wide), (b_spot, b_wide) = _ends(parts[0])[0], _ends(parts[-1])[1]
    widths = desk.read(a_wide), desk.read(b_wide)
    a, b = on_edge(desk, piece, a_spot), on_edge(desk, piece, b_spot)
    yield _ruled(piece, a, b)
    if all(isinstance(part, StripFolded) for part in parts):
        yield _strip(desk, piece, do, ends=(a, b), widths=widths)
    else:
        yield _spread(desk, piece, do, ends=(a, b), widths=widths)
    yield from truing_steps(desk, piece, made)


def _ends(part: StripFolded | PaperOpened) -> tuple[tuple[Point, float], tuple[Point, float]]:
    """Where a strip or cut comes on to the paper and where it leaves it, each with its width: negative in a spread."""
    line, way = (part.line, 1.0) if isinstance(part, StripFolded) else (part.cut, -1.0)
    return (line[0], way * part.widths[0]), (line[-1], way * part.widths[1])


def _ruled(piece: Piece, a: Found, b: Found) -> HandStep:
    text = f"On {piece_words(piece.name)}, {a.words}; {b.words}. Rule a line from {a.mark} to {b.mark}."
    spots = {a.mark: a.spot, b.mark: b.spot}
    picture = Picture(piece, spots, lines=((a.spot, b.spot),))
    brief = f"{upper_first(a.words)}; {b.words}. Rule {a.mark}–{b.mark}."
    return HandStep(text, (), (*a.figures, *b.figures), pictures=(picture,), brief=brief, kind="mark",
                    rows=((piece_title(piece.name), f"{a.words}; {b.words}; rule {a.mark}–{b.mark}"),))  # fmt: skip


def _strip(desk: Desk, piece: Piece, do: Fold, ends: tuple[Found, Found], widths: tuple[float, float]) -> HandStep:
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
                figures.append(Square(name, piece.name, end.mark, line=(a.mark, b.mark), mm=side * half))
        rows.append(_strip_row(desk, end.mark, width, halves=halves, left=left, way=way))
    desk.spots |= spots
    moving, still = (names[way][0], names[way][1]), (names[-way][0], names[-way][1])
    part = side_words(piece, a.spot, b.spot, left=way)
    text = (
        f"Mark the strip square to {a.mark}–{b.mark}, and rule {_line(moving)} and {_line(still)}. Crease "
        f"{_line(moving)} and lay it on {_line(still)}: the strip is folded away and {part} moves. Stick it down flat."
    )
    patch = tuple(spots[n] for n in (*moving, *reversed(still)))
    lines = ([spots[n] for n in moving], [spots[n] for n in still])
    picture = Picture(piece, spots, lines=lines, patches=(patch,))
    much = f"{_wide_or_nothing(desk, widths[0])} at {a.mark}, {_wide_or_nothing(desk, widths[1])} at {b.mark}"
    brief = f"Fold {_line(moving)} on to {_line(still)}: {much}. {upper_first(part)} moves."
    said = "; ".join((brief.removesuffix("."), *(" ".join(row) for row in rows)))
    return HandStep(text, tuple(rows), (*figures, Folding(piece.name, moving, still)), pictures=(picture,), brief=brief,
                    kind="cut",
                    rows=((piece_title(piece.name), said),))  # fmt: skip


def _wide_or_nothing(desk: Desk, width: float) -> str:
    return desk.say(width) if desk.read(width) else "nothing"


def _strip_row(
    desk: Desk, mark: str, width: float, halves: dict[float, float], left: Point, way: float
) -> tuple[str, str]:
    if not width:
        return f"at {mark}", "nothing: the two lines meet there"
    parts = [
        f"{desk.say(half)} {way_words(scaled(left, side))}" + f" ({mark}{1 if side == way else 2})"
        if half
        else f"{mark}{1 if side == way else 2} on the line itself"
        for side, half in halves.items()
    ]
    return f"at {mark}", f"{desk.say(width)} wide: {' and '.join(parts)}"


def _line(marks: tuple[str, str]) -> str:
    return "–".join(marks)


def _spread(desk: Desk, piece: Piece, do: Fold, ends: tuple[Found, Found], widths: tuple[float, float]) -> HandStep:
    a, b = ends
    way = 1.0 if do.move == "left" else -1.0
    part = side_words(piece, a.spot, b.spot, left=way)
    said = [_apart(desk, end.mark, width) for end, width in zip(ends, widths, strict=True)]
    text = f"Cut along {a.mark}–{b.mark}. Move {part} until the cut edges {said[0]} and {said[1]}. "
    text += "Stick paper behind."
    left = scaled(across(unit(sub(b.spot, a.spot))), way)
    patch = (a.spot, add(a.spot, scaled(left, -widths[0])), add(b.spot, scaled(left, -widths[1])), b.spot)
    figure = Spreading(piece.name, (a.mark, b.mark), (-widths[0], -widths[1]), moves=do.move)
    picture = Picture(piece, {a.mark: a.spot, b.mark: b.spot}, lines=((a.spot, b.spot),), patches=(patch,))
    brief = f"Cut {a.mark}–{b.mark}, move {part}: the edges {said[0]} and {said[1]}."
    return HandStep(text, (), (figure,), pictures=(picture,), brief=brief, kind="cut",
                    rows=((piece_title(piece.name), text.removesuffix(" Stick paper behind.")),))  # fmt: skip


def _apart(desk: Desk, mark: str, width: float) -> str:
    if not width:
        return f"still meet at {mark}"
    return f"lap over {desk.say(width)} at {mark}" if width > 0.0 else f"stand {desk.say(width)} apart at {mark}"


def dart_steps(desk: Desk, do: Dart, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The dart's middle line and legs, the slash, the closing, and the truing."""
    piece = before.piece(do.piece)
    mouth, point = on_edge(desk, piece, do.mouth), within(desk, piece, do.point)
    relief = on_edge(desk, piece, do.relief) if do.relief else None
    text = f"On {piece_words(piece.name)}, {mouth.words}; {point.words}. Rule {mouth.mark}–{point.mark}."
    spots = {found.mark: found.spot for found in (mouth, point, relief) if found}
    lines = [(mouth.spot, point.spot)]
    figures = [*mouth.figures, *point.figures]
    if relief:
        text = text[:-1] + f"; {relief.words}, and rule {point.mark}–{relief.mark}."
        lines.append((point.spot, relief.spot))
        figures += relief.figures
    brief = f"Rule the dart's middle {mouth.mark}–{point.mark}" + (
        f", the cut {point.mark}–{relief.mark}." if relief else "."
    )
    yield HandStep(text, (), tuple(figures), pictures=(Picture(piece, spots, lines=lines),), brief=brief)
    wedge = next(zone for zone in made.zones if isinstance(zone, WedgeClosed))
    ahead = sub(wedge.mouth, wedge.point)
    way = 1.0 if cross(ahead, sub(wedge.moving, wedge.point)) > 0.0 else -1.0
    yield from _closed(desk, piece, (mouth, point, relief), width=do.width, way=way)
    yield from truing_steps(desk, piece, made)


class _Legs(Struct, frozen=True):
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
        Square(name, piece.name, mouth.mark, line=line, mm=by) for name, by in ((one, halves[0]), (two, -halves[1]))
    )
    text = (
        f"The dart is {desk.say(whole)} wide: square to {mouth.mark}–{point.mark} mark {one} {desk.say(halves[0])} "
        f"{way_words(left)}, and {two} {desk.say(halves[1])} on the other side. Rule both to {point.mark}."
    )
    lines = [(spots[one], point.spot), (spots[two], point.spot)]
    desk.spots |= spots
    brief = f"Mark {one} and {two}, {desk.say(whole)} apart; rule both to {point.mark}."
    picture = Picture(piece, spots, lines=lines, patches=(tuple(spots.values()),))
    yield HandStep(text, (), squares, pictures=(picture,), brief=brief)
    ratio = distance(relief.spot, point.spot) / distance(mouth.spot, point.spot) if relief else 0.0
    yield _shut(desk, piece, _Legs(point, one, two, spots=spots), relief=relief, opens=desk.read(whole * ratio))


def _shut(desk: Desk, piece: Piece, legs: _Legs, relief: Found | None, opens: float) -> HandStep:
    """The one leg laid on the other; with a relief, the cut to it opens."""
    one, two, point = legs.one, legs.two, legs.point
    lay = f"Crease {one}–{point.mark} and lay it on {two}–{point.mark}"
    figure = Closing(piece.name, point.mark, one, still=two, relief=relief.mark if relief else None)
    if relief is None:
        text = f"{lay}; stick it down flat."
        picture = Picture(piece, legs.spots, patches=(tuple(legs.spots.values()),))
        return HandStep(text, (), (figure,), pictures=(picture,), brief=f"{lay}.")
    text = f"Cut {relief.mark}–{point.mark}. {lay}. "
    text += f"The cut opens {desk.say(opens)} at {relief.mark}: check it, and stick paper behind."
    shown = {**legs.spots, relief.mark: relief.spot}
    cut = ((point.spot, relief.spot),)
    picture = Picture(piece, shown, lines=cut, patches=(tuple(legs.spots.values()),))
    brief = f"Cut {relief.mark}–{point.mark}. {lay}: the cut opens {desk.say(opens)} at {relief.mark}."
    return HandStep(text, (), (figure,), pictures=(picture,), brief=brief)


def length_steps(desk: Desk, do: Length, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """One cut through all pieces where it was made, folded out or spread, and the truing."""
    after = made.pattern
    names = [piece.name for piece in before.pieces if after.piece(piece.name) != piece]
    parts = [zone for zone in made.zones if isinstance(zone, StripFolded | PaperOpened)]
    if not names or not parts:
        return
    shown = before.piece(parts[0].piece)
    straight = all(_square_to_grain(before.piece(part.piece), _sides(part)[0]) for part in parts)
    sides = _sides(parts[0])
    offsets = [desk.read(_above(shown, do.station, side)) for side in sides]
    amount = desk.read(do.amount)
    pieces = "On every piece" if len(names) == len(before.pieces) > 1 else (
        f"On {listed([piece_words(name) for name in names])}")  # fmt: skip
    how = "square to the grain, right across" if straight else (
        f"right across, as the {do.station} level runs, as far from it all along, measured with the grain")  # fmt: skip
    briefly = "square to the grain" if straight else f"as the {do.station} level runs"
    if amount > 0.0:
        one, two = _two_places(
            desk, offsets[0], offsets[0] + math.copysign(amount, offsets[1] - offsets[0]), station=do.station
        )
        text = f"{pieces}, draw two lines {how}: {one} and {two}. "
        text += "Fold the one on to the other and stick it down" if straight else (
            "Cut the paper out between them, slide the parts together along the grain until the cuts meet, and stick "
            "them")  # fmt: skip
        text += f": {'each' if len(names) > 1 else 'it'} is {desk.say(amount)} shorter."
        brief = f"{pieces}, {'fold' if straight else 'cut'} out {desk.say(amount)} {briefly}: lines {one} and {two}."
    else:
        one = _place_words(desk, offsets[0], do.station)
        text = f"{pieces}, draw a line {how}: {one}. "
        text += f"Cut along the line, draw the parts {desk.say(amount)} apart along the grain and stick paper behind."
        brief = f"{pieces}, cut {one}, {briefly}, and spread {desk.say(amount)}."
    picture = Picture(shown, lines=sides)
    figure = CutAcross(tuple(names), do.station, offsets[0], amount_mm=amount, level_run=not straight)
    yield HandStep(text, (), (figure,), pictures=(picture,), brief=brief)
    for name in names:
        yield from truing_steps(desk, before.piece(name), made)


def _sides(part: StripFolded | PaperOpened) -> tuple[Polyline, ...]:
    """The lines drawn for a part: that which stays, and for a strip that which is laid on it."""
    return (part.still, part.moving) if isinstance(part, StripFolded) else (part.cut,)


def _place_words(desk: Desk, offset: float, station: str) -> str:
    if not offset:
        return f"on the {station} level"
    return f"{desk.say(offset)} {'above' if offset > 0.0 else 'below'} the {station} level"


def _two_places(desk: Desk, one: float, two: float, station: str) -> tuple[str, str]:
    """Two places in words, the level named once where both lie on the same side of it or one lies on it."""
    first, second = _place_words(desk, one, station), _place_words(desk, two, station)
    if one * two > 0.0:
        return desk.say(one), second
    return first, second if one else second.replace(f"the {station} level", "it")


def _square_to_grain(piece: Piece, line: Polyline) -> bool:
    """Whether a line is straight across the grain, as far as a pencil shows."""
    heights = [dot(point, grain_up(piece)) for point in line]
    return max(heights) - min(heights) <= PENCIL_MM


def _above(piece: Piece, station: str, line: Polyline) -> float:
    """How far a line lies above a level of its piece, along the grain, at the line's front end."""
    up = grain_up(piece)
    level = as_heights(piece.level(station), up)
    assert level is not None, "a level that doubles back is no line to cut along"
    return dot(line[0], up) - level(dot(line[0], scaled(across(up), -1.0)))
