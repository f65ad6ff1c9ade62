"""The marks on the paper go where the paper goes: levels, landmarks, channels, slits and grain, over a cut.

A cut leaves three kinds of paper: what stays, what moves, and the strip between that falls away. A mark in the strip
comes to lie on the closing line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.pattern.geometry.plane import Affine, add, along, cross, distance, dot, mid, scaled, sub, unit
from diagnose.pattern.geometry.polylines import boxes_near, leg_gap
from diagnose.pattern.in_words import Note, OfBones, piece_words, slit_title
from diagnose.pattern.measure import line_length
from diagnose.pattern.moved.level_ends import drawn_through, trimmed
from diagnose.pattern.outline import Channel, Piece, Point, Polyline, Role, Slit
from diagnose.pattern.tolerances import NOTHING_MM
from diagnose.sentences import upper_first
from diagnose.units import both

__all__ = ["Paper", "Part", "carried_marks", "doubled_channels", "overlap"]

Part = Literal["stays", "moves", "strip"]
LOST_MM = 1.0
AT_CUT_MM = 0.01
LAID_PART = 0.8
"""A line that ends in the strip runs along it where so much of it is left once it is laid on the closing line."""
DOUBLE_SAMPLES = 9


class Paper(Struct, frozen=True):
    """A cut through the paper.

    Attributes:
        move: what is done to the part that moves.
        cuts: the lines the paper is cut along, as it lay.
        part_of: on which part a point lies (it is asked for the same points over and over; let it remember).
        laid: where a point of the strip comes to lie.
        as_one: whether an edge of that role, where it is cut, is drawn as one line on from the part that stays.
    """

    move: Affine
    cuts: tuple[Polyline, ...]
    part_of: Callable[[Point], Part]
    laid: Callable[[Point], Point]
    as_one: Callable[[Role], bool] = lambda _: False

    def carried(self, point: Point, part: Part | None = None) -> Point:
        """Where the point lies now."""
        part = part or self.part_of(point)
        if part == "stays":
            return point
        return self.move(point) if part == "moves" else self.laid(point)


class _Bit(Struct, frozen=True):
    """A straight part of a polyline on one part of the paper.

    Attributes:
        part: the part of the paper.
        start: where it begins now.
        end: where it ends now.
        size: how long it was, mm.
    """

    part: Part
    start: Point
    end: Point
    size: float


def carried_marks(paper: Paper, piece: Piece) -> tuple[Piece, tuple[Note, ...]]:
    """The piece with its marks carried (its edges and notches are not touched), and what there is to say about it."""
    lost = tuple(c.name for c in piece.channels if _length_now(paper, c) < LOST_MM <= line_length(c.line))
    made = replace(
        piece,
        levels={name: _carried_level(paper, piece, line) for name, line in piece.levels.items()},
        landmarks={name: paper.carried(point) for name, point in piece.landmarks.items()},
        channels=tuple(_straight_channel(paper, c) for c in piece.channels if c.name not in lost),
        slits=tuple(replace(s, line=_carried_slit(paper, s.line)) for s in piece.slits),
        grain=_carried_grain(paper, piece.grain),
    )
    return made, (*_mark_notes(paper, piece, lost), *doubled_channels(piece, made))


def _carried_level(paper: Paper, piece: Piece, line: Polyline) -> Polyline:
    """The level carried; one that is cut first loses what overhangs the paper, which lies on no part of it."""
    bits = _all_bits(paper, line)
    return _joined(bits if len({bit.part for bit in bits}) == 1 else _all_bits(paper, trimmed(piece, line)))


def _straight_channel(paper: Paper, channel: Channel) -> Channel:
    """The channel redrawn straight from point to point: steel is straight."""
    return replace(channel, line=tuple(map(paper.carried, channel.line)))


def _carried_slit(paper: Paper, line: Polyline) -> Polyline:
    """The slit carried; one that ends at the cut goes with the paper that it lies on, and is no longer for it."""
    tip = along(line[-1], line[-2], min(1.0, AT_CUT_MM / max(distance(line[-1], line[-2]), AT_CUT_MM)))
    return (*map(paper.carried, line[:-1]), paper.carried(line[-1], paper.part_of(tip)))


def _length_now(paper: Paper, channel: Channel) -> float:
    return line_length(_straight_channel(paper, channel).line)


def _carried_line(paper: Paper, line: Polyline) -> Polyline:
    return _joined(_all_bits(paper, line))


def _all_bits(paper: Paper, line: Polyline) -> list[_Bit]:
    return [bit for a, b in pairwise(line) for bit in _bits(paper, a, b)]


def _joined(bits: list[_Bit]) -> Polyline:
    """The bits put together again: what fell away between two of them closes up, a step is drawn through."""
    dropped = {
        i
        for i, (before, after) in _strips(bits)
        if before != after and ((before and after) or _bit_length(bits[i]) < LAID_PART * bits[i].size)
    }
    kept = [bit for i, bit in enumerate(bits) if i not in dropped]
    parts: list[list[Point]] = [[kept[0].start, kept[0].end]]
    for before, bit in pairwise(kept):
        if bit.part != before.part:
            parts.append([bit.start, bit.end])
        else:
            parts[-1] += [bit.start, bit.end]
    line = _plain(parts[0])
    for part in parts[1:]:
        line = drawn_through(line, _plain(part))
    return _plain(list(line))


def _bits(paper: Paper, a: Point, b: Point) -> Iterator[_Bit]:
    cuts = sorted({0.0, 1.0, *(s for cut in paper.cuts for p, q in pairwise(cut) for s in _crossing(a, b, p=p, q=q))})
    for s0, s1 in pairwise(cuts):
        part = paper.part_of(along(a, b, (s0 + s1) / 2.0))
        start, end = (paper.carried(along(a, b, s), part) for s in (s0, s1))
        yield _Bit(part, start, end, size=(s1 - s0) * distance(a, b))


def _crossing(a: Point, b: Point, p: Point, q: Point) -> Iterator[float]:
    """How far along a→b the stretch p→q crosses it, strictly inside."""
    span, cut = sub(b, a), sub(q, p)
    turn = cross(span, cut)
    if abs(turn) > 1e-12:
        s, r = cross(sub(p, a), cut) / turn, cross(sub(p, a), span) / turn
        if 1e-9 < s < 1.0 - 1e-9 and -1e-9 <= r <= 1.0 + 1e-9:
            yield s


def _strips(bits: list[_Bit]) -> Iterator[tuple[int, tuple[Part | None, Part | None]]]:
    """For each bit in the strip, the parts the line comes from and goes to (None at an end).

    They differ where the strip is crossed, which closes up, and where the line ends in it, across it or along it; they
    are the same where it comes back, and where all of it lies in the strip.
    """
    for i, bit in enumerate(bits):
        if bit.part == "strip":
            before = next((b.part for b in reversed(bits[:i]) if b.part != "strip"), None)
            after = next((b.part for b in bits[i + 1 :] if b.part != "strip"), None)
            yield i, (before, after)


def _plain(points: list[Point]) -> Polyline:
    """The polyline without the points that bend nothing."""
    kept = [points[0]]
    for i, point in enumerate(points[1:-1], 1):
        out, on = unit(sub(point, kept[-1])), unit(sub(points[i + 1], point))
        if abs(cross(out, on)) > NOTHING_MM or dot(out, on) < 0.0:
            kept.append(point)
    return (*kept, points[-1])


def _carried_grain(paper: Paper, grain: tuple[Point, Point] | None) -> tuple[Point, Point] | None:
    """The grain keeps the direction of the paper its longer part lies on, and gains or loses what the cut does."""
    if grain is None:
        return None
    a, b = grain
    start, end = paper.carried(a), paper.carried(b)
    part = max((bit for bit in _bits(paper, a, b) if bit.part != "strip"), key=_bit_length, default=None)
    if part is None:
        # All of it fell away: it keeps its direction and length, about the place where its middle lies now.
        by = sub(paper.carried(mid(a, b)), mid(a, b))
        return add(a, by), add(b, by)
    if paper.part_of(a) == paper.part_of(b) == part.part:
        return start, end
    ahead = scaled(unit(sub(part.end, part.start)), distance(start, end))
    return (start, add(start, ahead)) if paper.part_of(a) == part.part else (sub(end, ahead), end)


def _bit_length(bit: _Bit) -> float:
    return distance(bit.start, bit.end)


def _mark_notes(paper: Paper, piece: Piece, lost: tuple[str, ...]) -> Iterator[Note]:
    here = piece_words(piece.name)
    within = tuple(c.name for c in piece.channels if c.name not in lost and _parts(paper, c.line) == {"strip"})
    bent = tuple(c.name for c in piece.channels if len(_parts(paper, c.line)) > 1 and _bends(paper, c.line))
    spots = [name for name, point in piece.landmarks.items() if paper.part_of(point) == "strip"]
    levels = [name for name, line in piece.levels.items() if "strip" in _parts(paper, (line[0], line[-1]))]
    if levels:
        yield f"These levels of {here} lay in the strip and now lie on the closing line: {', '.join(levels)}."
    if lost:
        yield OfBones(piece.name, (f"Gone from {here}, having lain across the strip: ", lost, "."))
    if within:
        yield OfBones(piece.name, (within, f" of {here} lay in the strip and now {_lie(within)} on the closing line."))
    if bent:
        is_are = "crosses the cut and is" if len(bent) == 1 else "cross the cut and are"
        yield OfBones(piece.name, (bent, f" of {here} {is_are} redrawn straight."))
    for slit in piece.slits:
        yield from _slit_notes(paper, here, slit)
    if spots:
        yield f"These marks of {here} lay in the strip and now lie on the closing line: {', '.join(spots)}."


def _lie(names: Sequence[str]) -> str:
    return "lies" if len(names) == 1 else "lie"


def _parts(paper: Paper, line: Polyline) -> set[Part]:
    return {paper.part_of(point) for point in line}


def _bends(paper: Paper, line: Polyline) -> bool:
    """Whether the line, carried as the paper goes, would bend at the cut."""
    return len(_carried_line(paper, line)) > len(line)


def _slit_notes(paper: Paper, piece: str, slit: Slit) -> Iterator[str]:
    name = upper_first(slit_title(slit.name))
    kinds = _parts(paper, slit.line)
    if kinds == {"strip"}:
        yield f"{name} of {piece} lay in the strip; it now lies on the closing line."
    elif len(kinds) > 1:
        was, now = line_length(slit.line), line_length(_carried_slit(paper, slit.line))
        word = "shorter" if now < was else "longer"
        yield f"{name} of {piece} crosses the cut; it is {both(abs(now - was))} {word}."


def doubled_channels(before: Piece, after: Piece) -> Iterator[Note]:
    """A sentence for each two channels that lie on each other and did not before."""
    old = {frozenset((a.name, b.name)) for a, b in _doubles(before.channels)}
    for a, b in _doubles(after.channels):
        if frozenset((a.name, b.name)) not in old:
            said = f" of {piece_words(after.name)} now lie on each other: leave one of them out."
            yield OfBones(after.name, ((a.name, b.name), said))


def _doubles(channels: tuple[Channel, ...]) -> Iterator[tuple[Channel, Channel]]:
    for i, a in enumerate(channels):
        for b in channels[i + 1 :]:
            if overlap(a, b):
                yield a, b


def overlap(a: Channel, b: Channel) -> bool:
    """Whether more than half of the shorter channel lies within the width of the longer one."""
    apart = (a.width + b.width) / 2.0
    if not boxes_near(a.line, b.line, apart):
        return False
    short, long = sorted((a, b), key=lambda channel: line_length(channel.line))
    legs = pairwise(short.line)
    spots = [along(p, q, i / DOUBLE_SAMPLES) for p, q in legs for i in range(DOUBLE_SAMPLES + 1)]
    near = sum(min(leg_gap(p, a, b) for a, b in pairwise(long.line)) < apart - NOTHING_MM for p in spots)
    return near * 2 > len(spots)
