"""Bones after an operation: none is left outside the paper, in a slit's clearance or across another bone.

What has come to lie so is re-laid straight inside, shortened, or taken out, and the report says which. What lay so
before is its maker's own and stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, pairwise

from msgspec.structs import replace

from diagnose.pattern.geometry.plane import across, add, along, distance, scaled, sub, unit
from diagnose.pattern.geometry.polylines import boxes_near, crosses, line_gap
from diagnose.pattern.in_words import Note, OfBones, Parts, piece_words, slit_title
from diagnose.pattern.measure import cut_level, line_length
from diagnose.pattern.moved.bones import EDGE_CLEARANCE_MM, SLIT_CLEARANCE_MM, near_edge, side_chords
from diagnose.pattern.moved.carried_marks import overlap
from diagnose.pattern.outline import Channel, Piece, Point, Polyline
from diagnose.units import INCH_MM

__all__ = ["bones_sound"]

WITHIN_MM = 0.05
FARTHEST_MM = INCH_MM
TRY_STEP_MM = INCH_MM / 16
LEAST_LAID_MM = INCH_MM
LEAST_PART = 0.4
SAME_PART = 0.95
SAMPLES = 200


def bones_sound(was: Piece, made: Piece) -> tuple[Piece, tuple[Note, ...]]:
    """The piece with its bones lying soundly, and what was done to those that did not.

    Args:
        was: the piece before the operation.
        made: the piece after it.
    """
    made, notes = _apart(was, made)
    old = {channel.name: channel for channel in was.channels}
    kept: list[Channel] = []
    done: dict[tuple[Parts, str], list[str]] = {}
    for channel in made.channels:
        others = [*kept, *made.channels[made.channels.index(channel) + 1 :]]
        why = _wrong(made, channel, others) if channel.name in old else ()
        if why and not _was_wrong(was, old[channel.name], channel):
            word, better = _mended(made, channel, others)
            done.setdefault((why, word), []).append(channel.name)
            kept += [better] if better else []
        else:
            kept.append(channel)
    if not done:
        return made, notes
    return replace(made, channels=tuple(kept)), (*notes, *_said(made.name, done))


def _apart(was: Piece, made: Piece) -> tuple[Piece, tuple[Note, ...]]:
    """The piece with each bone that was moved on to another laid beside it, where there is room for both."""
    old = {channel.name: channel for channel in was.channels}
    kept, moved = list(made.channels), list[str]()
    for number, channel in enumerate(made.channels):
        before = old.get(channel.name)
        if before is None or channel.line == before.line or not _lies_on_any(channel, kept):
            continue
        if _lies_on_any(before, was.channels):
            continue
        others = [one for one in kept if one.name != channel.name]
        clear = (
            line
            for line in _laid_anew(channel.line)
            if _inside(made, line)
            and not _in_the_way(made, channel, line, others=others)
            and not _lies_on_any(replace(channel, line=line), others)
        )
        line = next(clear, None)
        if line is not None:
            kept[number] = replace(channel, line=line)
            moved.append(channel.name)
    if not moved:
        return made, ()
    them = "it is" if len(moved) == 1 else "they are"
    said = f" of {piece_words(made.name)} would lie on the one beside: {them} laid clear of it."
    return replace(made, channels=tuple(kept)), (OfBones(made.name, (tuple(moved), said)),)


def _lies_on_any(channel: Channel, others: Sequence[Channel]) -> bool:
    """Whether the bone lies on another over more than half its length."""
    return any(overlap(channel, one) for one in others if one.name != channel.name)


def _said(piece: str, done: dict[tuple[Parts, str], list[str]]) -> Iterator[Note]:
    for (why, word), names in done.items():
        them = "it is" if len(names) == 1 else "they are"
        yield OfBones(piece, (tuple(names), f" of {piece_words(piece)} would ", *why, f": {them} {word}."))


def _was_wrong(was: Piece, old: Channel, now: Channel) -> bool:
    """Whether the bone lay no better before, and is no worse now: nothing has to be done about it."""
    others = [channel for channel in was.channels if channel.name != old.name]
    return old.line == now.line and bool(_wrong(was, old, others))


def _wrong(piece: Piece, channel: Channel, others: Sequence[Channel]) -> Parts:
    """What the bone would do that no bone may; empty when it lies soundly."""
    if not _inside(piece, channel.line):
        return ("run off the paper",)
    return _in_the_way(piece, channel, channel.line, others=others)


def _inside(piece: Piece, line: Polyline) -> bool:
    """Whether the line lies on the paper from one end to the other."""
    return not any(cut_level(piece, line).outside(line, WITHIN_MM))


def _in_the_way(piece: Piece, channel: Channel, line: Polyline, others: Sequence[Channel]) -> Parts:
    """The slit that the bone's stitching would lie on, or the bone it would cross; empty when it keeps clear."""
    near = channel.width / 2.0
    for slit in piece.slits:
        if boxes_near(line, slit.line, near) and line_gap(line, slit.line) < near:
            return (f"lie across {slit_title(slit.name)}",)
    for other in others:
        if boxes_near(line, other.line, 0.0) and crosses(line, other.line):
            return "cross ", (other.name,)
    return ()


def _mended(piece: Piece, channel: Channel, others: Sequence[Channel]) -> tuple[str, Channel | None]:
    """What is done with the bone: the word for it, and the bone as it lies now, off the seams if it can."""
    size = line_length(channel.line)
    laid = (_on_paper(piece, line) for line in _laid_anew(channel.line))
    long = (line for line in laid if line is not None and line_length(line) >= SAME_PART * size)
    sound = (line for line in long if not _in_the_way(piece, channel, line, others=others))
    best = next(sound, None)
    if best is not None:
        seams = side_chords(piece, ("seam",))
        tried = [best, *islice(sound, int(2.0 * channel.width / TRY_STEP_MM))]
        clear = [line for line in tried if not _lies_on_any(replace(channel, line=line), others)]
        if not clear:
            return "taken out, for there is no room beside the next", None
        off = (line for line in clear if not any(near_edge(seam, channel, line) for seam in seams))
        return "re-laid straight inside", replace(channel, line=next(off, clear[0]))
    cut = _shortened(piece, channel, (channel.line[0], channel.line[-1]), others=others)
    if cut is not None and line_length(cut) >= max(LEAST_LAID_MM, LEAST_PART * size):
        return "shortened to what lies clear", replace(channel, line=cut)
    return "taken out", None


def _laid_anew(line: Polyline) -> Iterator[Polyline]:
    """The bone straight from end to end, then moved aside bit by bit."""
    a, b = line[0], line[-1]
    left = across(unit(sub(b, a)))
    yield a, b
    for n in range(1, int(FARTHEST_MM / TRY_STEP_MM) + 1):
        for way in (1.0, -1.0):
            by = scaled(left, way * n * TRY_STEP_MM)
            yield add(a, by), add(b, by)


def _on_paper(piece: Piece, line: Polyline) -> tuple[Point, Point] | None:
    """The longest stretch of a straight line that lies on the paper, short of the edge that stops it; None if none."""
    a, b = line
    parts = sorted(cut_level(piece, line).parts, key=lambda part: distance(*part))
    if not parts:
        return None
    start, stop = parts[-1]
    start = start if distance(start, a) <= WITHIN_MM else along(start, stop, _part(EDGE_CLEARANCE_MM, start, stop))
    stop = stop if distance(stop, b) <= WITHIN_MM else along(stop, start, _part(EDGE_CLEARANCE_MM, start, stop))
    return start, stop


def _shortened(piece: Piece, channel: Channel, line: Polyline, others: Sequence[Channel]) -> Polyline | None:
    """The longest sound stretch of a straight line, short of whatever stops it; None where there is none."""
    whole = _on_paper(piece, line)
    if whole is None or not _in_the_way(piece, channel, whole, others=others):
        return whole
    start, stop = whole
    spots = [along(start, stop, n / SAMPLES) for n in range(SAMPLES + 1)]
    good = [not _in_the_way(piece, channel, leg, others=others) for leg in pairwise(spots)]
    best, run = (0, 0), 0
    for n, fine in enumerate([*good, False]):
        if not fine:
            best, run = max(best, (n - run, run)), n + 1
    length, first = best
    low, high = spots[first], spots[first + length]
    short = SLIT_CLEARANCE_MM + channel.width / 2.0
    low = low if first == 0 else along(low, high, _part(short, low, high))
    high = high if first + length == SAMPLES else along(high, low, _part(short, low, high))
    return (low, high) if length and low != high else None


def _part(mm: float, a: Point, b: Point) -> float:
    size = distance(a, b)
    return min(0.5, mm / size) if size > 0.0 else 0.0
