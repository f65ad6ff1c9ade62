"""The marks on the paper follow an edge that was redrawn: levels, landmarks, slits, notches, channel ends.

Millimetres; amounts positive inwards. An operation redraws the edges first; then everything that lay on them is set
on the new ones here, and what could not be carried is said in a plain sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import EndSet, RunRedrawn
from diagnose.pattern.geometry.curves import (
    box_distance,
    run_length,
    run_nearest,
    run_point_at,
    run_split,
)
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.moved.level_ends import MARK_ON_EDGE_MM, cut_to, marks_laid
from diagnose.pattern.outline import Edge, Notch, Piece, Point, Segment, Slit
from diagnose.pattern.tolerances import ON_EDGE_MM, ON_LINE_MM
from diagnose.units import both

__all__ = ["Redrawn", "with_marks"]

LEVEL_REACH_MM = 12.7


class Redrawn(Struct, frozen=True):
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

    @property
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
        run = run_split(run_split(old.segments, last)[0], first)[1]
        fresh = run_split(run_split(new.segments, run_length(new.segments) - behind)[0], first)[1]
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
                    was=was,
                    now=now,
                    by_mm=by if on else -by,
                )

    def new_run(self, names: Iterable[str]) -> tuple[Segment, ...]:
        """The new segments of those edges."""
        return tuple(segment for name in names for segment in self.after.edge(name).segments)

    def touches(self, names: Iterable[str], point: Point) -> bool:
        """Whether the point lay on one of those edges as they were."""
        edges = (self.before.edge(name) for name in names)
        return any(run_nearest(e.segments, point)[1] <= ON_EDGE_MM for e in edges if _may_touch(e, point))

    def follow(self, point: Point, within_mm: float = ON_EDGE_MM) -> Point | None:
        """Where a point of a redrawn edge lies now; None when it lay so near to none of them."""
        edges = [self.before.edge(name) for name in self.changed]
        found = [(run_nearest(edge.segments, point), edge.name) for edge in edges if _may_touch(edge, point, within_mm)]
        (mm, away), name = min(found, key=lambda hit: (hit[0][1], hit[1] not in self.places), default=((0.0, 1e9), ""))
        return _on(self.after.edge(name), self._place(name, mm)) if away <= within_mm else None

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


def _may_touch(edge: Edge, point: Point, within_mm: float = ON_EDGE_MM) -> bool:
    """A quick look whether the point can lie on the edge at all: whether it lies in the box of a segment's handles."""
    return any(box_distance(segment, point) <= within_mm for segment in edge.segments)


def _on(edge: Edge, point: Point) -> Point:
    """The place of the edge nearest to the point."""
    if point in (edge.start, edge.end):
        return point
    mm, away = run_nearest(edge.segments, point)
    return point if away <= ON_LINE_MM else run_point_at(edge.segments, mm)


def with_marks(redrawn: Redrawn) -> tuple[Piece, tuple[str, ...]]:
    """The redrawn piece with its levels, landmarks, slits and notches carried, and what there is to say about it.

    Raises:
        FitError: when an edge has been moved past the tip of a slit.
    """
    changed = redrawn.changed
    if not changed:
        return redrawn.after, ()
    before = redrawn.before
    notches, notes = _notches(redrawn, changed)
    piece = replace(
        redrawn.after,
        landmarks={name: redrawn.follow(p, MARK_ON_EDGE_MM) or p for name, p in before.landmarks.items()},
        slits=tuple(_slit(redrawn, changed, slit) for slit in before.slits),
        notches=notches,
    )
    return marks_laid(before, piece), notes


def _notches(redrawn: Redrawn, changed: tuple[str, ...]) -> tuple[tuple[Notch, ...], tuple[str, ...]]:
    made, notes = [], []
    for notch in redrawn.before.notches:
        if notch.edge not in changed:
            made.append(notch)
            continue
        at, away = redrawn.mm_now(notch.edge, notch.at)
        made.append(replace(notch, at=at))
        if away > ON_EDGE_MM:
            notes.append(
                f"The notch {both(notch.at)} along '{notch.edge}' of '{redrawn.before.name}' lay on paper that was"
                " trimmed off; it now stands at the end of the edge."
            )
    return tuple(made), tuple(notes)


def _slit(redrawn: Redrawn, changed: tuple[str, ...], slit: Slit) -> Slit:
    """The slit with its foot on the new edge, along its own line; its tip stays."""
    moved = redrawn.follow(slit.line[0])
    if moved is None or distance(moved, slit.line[0]) <= ON_LINE_MM:
        return slit
    line = cut_to(tuple(reversed(slit.line)), redrawn.new_run(changed), moved)
    if line is None:
        raise FitError.of(
            "slits",
            f"The edge would pass the tip of slit '{slit.name}' of piece '{redrawn.before.name}'.",
            "Give a smaller amount, or deepen the slit first.",
            code="past-slit-tip",
        )
    return replace(slit, line=tuple(reversed(line)))
