"""The marks on the paper follow an edge that was redrawn: levels, landmarks, slits, notches, channel ends.

Millimetres; amounts positive inwards. An edge is redrawn first, all of it as an operation asks or a stretch of it as a
cut is trued; then everything that lay on it is set on the new line here, and what could not be carried is said in a
plain sentence.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import EndSet, RunRedrawn
from diagnose.pattern.geometry.bezier import may_be_near
from diagnose.pattern.geometry.plane import add, distance, dot, sub
from diagnose.pattern.geometry.polylines import at_both_ends
from diagnose.pattern.geometry.runs import run_between, run_length, run_met, run_nearest, run_point_at, run_spot
from diagnose.pattern.in_words import edge_words, piece_words, slit_title
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.moved.level_ends import MARK_ON_EDGE_MM, cut_to, marks_laid
from diagnose.pattern.outline import END_ROLES, Notch, Piece, Point, Polyline, Run, Slit
from diagnose.pattern.tolerances import ON_EDGE_MM, ON_LINE_MM
from diagnose.units import INCH_MM, both

__all__ = ["Redrawn", "feet_reached", "followed", "with_marks"]

CHANNEL_END_MM = INCH_MM / 2


class _Stretch(Struct, frozen=True):
    """A stretch of an edge, or all of it, redrawn.

    Attributes:
        old: as it lay when the marks lay on it.
        new: as it is drawn.
        place: where the place `mm` along the old one has come to lie; it may be a hair off the new one.
    """

    old: Run
    new: Run
    place: Callable[[float], Point]

    def now(self, mm: float) -> Point:
        """The place of the new stretch where that of the old one has come to lie."""
        point = self.place(mm)
        if point in (self.new[0].start, self.new[-1].end):
            return point
        spot, away = run_spot(self.new, point)
        return point if away <= ON_LINE_MM else spot


class Redrawn(Struct, frozen=True, dict=True):
    """A piece whose edges are redrawn while its marks still lie where they lay.

    Attributes:
        before: the piece as it was.
        after: the piece with its new edges and its old marks.
        places: for each edge that moved, where the place `mm` along the old edge has come to lie.
        spans: for each edge that moved, from where to where along the old edge it did, and how far at most, mm.
    """

    before: Piece
    after: Piece
    places: Mapping[str, Callable[[float], Point]]
    spans: Mapping[str, tuple[float, float, float]]

    @cached_property
    def changed(self) -> tuple[str, ...]:
        """The names of the edges that are no longer the same line."""
        pairs = zip(self.before.edges, self.after.edges, strict=True)
        return tuple(old.name for old, new in pairs if old.segments != new.segments)

    def zones(self, why: Literal["moved", "reshaped"]) -> tuple[RunRedrawn | EndSet, ...]:
        """What was drawn afresh, for the purpose named, and the ends of other edges that were set to it."""
        changed = self.changed
        moved = tuple(zone for name in changed if name in self.places for zone in self._moved(name, why))
        return moved + tuple(end for name in changed if name not in self.places for end in self._ends(name))

    def _moved(self, name: str, why: Literal["moved", "reshaped"]) -> Iterator[RunRedrawn]:
        """The edge from its first place that moved to its last."""
        old, new = self.before.edge(name), self.after.edge(name)
        first, last, by = self.spans[name]
        behind = run_length(old.segments) - last
        run = run_between(old.segments, first, last)
        fresh = run_between(new.segments, first, run_length(new.segments) - behind)
        if run and fresh:
            yield RunRedrawn(
                piece=self.before.name,
                edge=name,
                role=old.role,
                why=why,
                old=run,
                new=fresh,
                start_mm=first,
                by_mm=by,
            )

    def _ends(self, name: str) -> Iterator[EndSet]:
        """The ends of an edge beside, trimmed or drawn on."""
        old, new = self.before.edge(name), self.after.edge(name)
        for at_start, was, now in ((True, old.start, new.start), (False, old.end, new.end)):
            if was != now:
                on = run_nearest(old.segments, now)[1] > ON_LINE_MM
                by = distance(was, now)
                yield EndSet(
                    piece=self.before.name,
                    edge=name,
                    at_start=at_start,
                    why="adjoins",
                    now=now,
                    by_mm=by if on else -by,
                )

    @cached_property
    def stretches(self) -> tuple[_Stretch, ...]:
        """The edges that are no longer the same line, those that were moved before those that were set to them."""
        names = sorted(self.changed, key=lambda name: name not in self.places)
        edges = ((name, self.before.edge(name).segments, self.after.edge(name).segments) for name in names)
        return tuple(_Stretch(old, new, partial(self._place, name)) for name, old, new in edges)

    def mm_now(self, name: str, mm: float) -> tuple[float, float]:
        """How far along the new edge the old place `mm` lies, and how far it is off the edge."""
        old, new = self.before.edge(name), self.after.edge(name)
        if mm <= ON_LINE_MM and name in self.places:
            return 0.0, 0.0
        if mm >= run_length(old.segments) - ON_LINE_MM and name in self.places:
            return run_length(new.segments), 0.0
        at, away = run_nearest(new.segments, self._place(name, mm))
        return (mm, away) if abs(at - mm) <= ON_LINE_MM else (at, away)

    def _place(self, name: str, mm: float) -> Point:
        if name not in self.places:
            return run_point_at(self.before.edge(name).segments, mm)
        new, whole = self.after.edge(name), run_length(self.before.edge(name).segments)
        if mm <= ON_LINE_MM:
            return new.start
        return new.end if mm >= whole - ON_LINE_MM else self.places[name](mm)


def with_marks(redrawn: Redrawn) -> tuple[Piece, tuple[str, ...]]:
    """The redrawn piece with its levels, landmarks, slits and notches carried, and what there is to say about it.

    Raises:
        FitError: when an edge has been moved past the tip of a slit.
    """
    if not redrawn.changed:
        return redrawn.after, ()
    notches, notes = _notches(redrawn)
    return _set_on(redrawn.before, replace(redrawn.after, notches=notches), redrawn.stretches), notes


def followed(was: Piece, piece: Piece, zones: Sequence[RunRedrawn]) -> Piece:
    """The piece with what lay on the redrawn stretches set on them: level ends, slit feet, channel ends, landmarks.

    Args:
        was: the piece before; its levels ended at its edges.
        piece: the piece with its new edges, and its marks as its paper has carried them.
        zones: where edges were redrawn.

    Raises:
        FitError: when an edge has been drawn past the tip of a slit.
    """
    ends = [zone for zone in zones if zone.role in END_ROLES]
    end_carried = partial(_ended, ends)
    channels = tuple(replace(one, line=at_both_ends(one.line, end_carried)) for one in piece.channels)
    stretches = [_Stretch(zone.old, zone.new, partial(_same_part, zone)) for zone in zones]
    return _set_on(was, replace(piece, channels=channels), stretches)


def _same_part(zone: RunRedrawn, mm: float) -> Point:
    return run_point_at(zone.new, mm * run_length(zone.new) / run_length(zone.old))


def _set_on(was: Piece, piece: Piece, stretches: Sequence[_Stretch]) -> Piece:
    """The piece with its landmarks, slit feet and level ends on the stretches they lay on."""
    made = replace(
        piece,
        landmarks={name: _follow(stretches, p, MARK_ON_EDGE_MM) or p for name, p in piece.landmarks.items()},
        slits=tuple(_slit(piece, slit, stretches) for slit in piece.slits),
    )
    return marks_laid(was, made)


def _follow(stretches: Sequence[_Stretch], point: Point, within_mm: float) -> Point | None:
    """Where a point of a redrawn stretch lies now; None when it lay so near to none of them."""
    near = (one for one in stretches if may_be_near(one.old, point, within_mm))
    found = [(run_nearest(one.old, point), one) for one in near]
    (mm, away), one = min(found, key=lambda hit: hit[0][1], default=((0.0, math.inf), None))
    return one.now(mm) if one is not None and away <= within_mm else None


def _slit(piece: Piece, slit: Slit, stretches: Sequence[_Stretch]) -> Slit:
    """The slit with its foot on the new edge, along its own line; its tip stays."""
    foot, tip = slit.line[0], slit.line[-1]
    moved = _follow(stretches, foot, ON_EDGE_MM)
    if moved is None or distance(moved, foot) <= ON_LINE_MM:
        return slit
    line = cut_to(tuple(reversed(slit.line)), [segment for one in stretches for segment in one.new], moved)
    if line is not None:
        return replace(slit, line=tuple(reversed(line)))
    if dot(sub(moved, tip), sub(foot, tip)) > 0.0:
        # The line runs past the very end of the stretch.
        return replace(slit, line=(moved, *slit.line[1:]))
    raise FitError.of(
        "slits",
        f"The edge would pass the tip of {slit_title(slit.name)} of {piece_words(piece.name)}.",
        "Give a smaller amount, or deepen the slit first.",
        code="past-slit-tip",
    )


def feet_reached(made: Piece, was: Piece, folded_away: Callable[[Point], bool]) -> Piece:
    """The piece with the feet of its slits at its outline where a cut left them off it.

    Args:
        made: the piece as it is now.
        was: the piece as it was, with the same marks.
        folded_away: whether a point of the old paper fell away; a slit that began there is drawn on or trimmed.
    """

    def slit(line: Polyline, old: Polyline) -> Polyline:
        if line[0] == line[1] or not folded_away(old[0]):
            return line
        return run_met(outline_segments(made), line[1], line[0], near=line[0]) or line[0], *line[1:]

    slits = (replace(new, line=slit(new.line, old.line)) for new, old in zip(made.slits, was.slits, strict=True))
    return replace(made, slits=tuple(slits))


def _notches(redrawn: Redrawn) -> tuple[tuple[Notch, ...], tuple[str, ...]]:
    made, notes = [], []
    for notch in redrawn.before.notches:
        if notch.edge not in redrawn.changed:
            made.append(notch)
            continue
        at, away = redrawn.mm_now(notch.edge, notch.at)
        made.append(replace(notch, at=at))
        if away > ON_EDGE_MM:
            notes.append(
                f"The notch {both(notch.at)} along {edge_words(redrawn.before.edge(notch.edge))} of"
                f" {piece_words(redrawn.before.name)} lay on paper that was trimmed off; it now stands at its end."
            )
    return tuple(made), tuple(notes)


def _ended(zones: Sequence[RunRedrawn], line: Polyline) -> Polyline:
    """The channel's line with an end that lay at a redrawn edge at the same distance from the new one, along its line.

    Points that the edge has passed are left out.
    """
    end = _slid(line[-1], line[-2], zones)
    if end == line[-1] or dot(sub(end, line[-2]), sub(line[-1], line[-2])) > 0.0:
        return (*line[:-1], end)
    if len(line) == 2:
        return line
    for zone in zones:
        now = run_met(zone.new, line[-3], line[-2], near=end)
        if now and dot(sub(now, line[-3]), sub(line[-2], line[-3])) > 0.0:
            return (*line[:-2], now)
    return line


def _slid(end: Point, inner: Point, zones: Sequence[RunRedrawn]) -> Point:
    for zone in zones if end != inner else ():
        was = run_met(zone.old, inner, end, near=end) if zone.near(end, CHANNEL_END_MM) else None
        now = run_met(zone.new, inner, end, near=was) if was and distance(was, end) <= CHANNEL_END_MM else None
        if was and now:
            return add(end, sub(now, was))
    return end
