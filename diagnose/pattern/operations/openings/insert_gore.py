"""`insert-gore`: a slit is cut from the bottom (or top) edge, and a gore let into it.

Millimetres. The width is the chord from foot to foot; both legs are as long as the slit, so they sew to it without a
remainder, and the hem is an arc about the tip, so it does not drop. Down from the tip, at distance r, the gore is
width x r / length wide. The gore is a piece of its own, drawn about the slit's line; the slit has two lips and each is
sewn to one leg.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import ClassVar

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered, SlitOpened
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.geometry.plane import across, add, along, distance, scaled, sub, turn, unit
from diagnose.pattern.geometry.polylines import crosses, line_gap
from diagnose.pattern.geometry.runs import run_spot
from diagnose.pattern.in_words import Note, OfBones, bones_mistake, piece_first, piece_words, slit_title
from diagnose.pattern.measure import is_inside, line_length, slit_length
from diagnose.pattern.moved.bones import SLIT_CLEARANCE_MM
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import Parameter, a_name, a_point, above_nothing, need
from diagnose.pattern.outline import (
    END_ROLES,
    Cubic,
    Edge,
    EdgeRef,
    Line,
    Pattern,
    Piece,
    Point,
    Polyline,
    Role,
    Run,
    Seam,
    Slit,
    free_names,
    lips_of,
)
from diagnose.sentences import upper_first
from diagnose.units import INCH_MM, both

__all__ = ["InsertGore", "refuse_channels"]

FOOT_OFF_MM = INCH_MM / 4
SAME_FOOT_MM = 1.0
PAST_FOOT_MM = 1.0
LEAST_LEVEL_MM = 0.1
LARGEST_ARC_RAD = math.pi / 4


class InsertGore(OnPiece, frozen=True):
    """Where the slit runs from the edge to its tip, and how wide the gore is at the foot."""

    op: ClassVar[str] = "insert-gore"
    called: ClassVar[str] = "a gore let in"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        need("slit_foot", a_point),
        need("tip", a_point),
        need("width", above_nothing),
    )
    sized: ClassVar[tuple[str, ...]] = ("width",)

    slit_foot: Point
    tip: Point
    width: float

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with the slit, the gore as a new piece, and the two seams between them.

        Raises:
            FitError: when the foot is off the edge, the tip off the piece, the gore wider than its legs can span, or a
                channel lies across the slit.
        """
        piece = pattern.piece(self.piece)
        role, foot = _slit_end(piece, self.slit_foot, "slit_foot")
        if not is_inside(piece, self.tip) or distance(foot, self.tip) <= SAME_FOOT_MM:
            what = f"The tip, {self.tip}, does not lie inside {piece_words(piece.name)}."
            raise FitError.of(
                "tip", what, "Give a point inside, above the foot for a slit in the bottom edge.", code="off-piece"
            )
        slit, notes = _slit(piece, foot, self.tip)
        _refuse_second(pattern, piece, slit)
        size = slit_length(slit)
        if not 0.0 < self.width < 2.0 * size:
            what = f"A gore {both(self.width)} wide does not fit into a slit {both(size)} long."
            raise FitError.of(
                "width", what, f"Give more than nothing and less than {both(2.0 * size)}.", code="too-wide"
            )
        slitted = _with_slit(piece, slit)
        gore = _gore(pattern, slitted, slit, width=self.width, role=role)
        after = pattern.with_piece(slitted)
        seams = (*after.seams, *_seams(gore.name, piece.name, slit.name))
        said = f"{piece_first(gore.name)} is let into {slit_title(slit.name)} of {piece_words(piece.name)}"
        notes = (*notes, f"{said}: stay the tip with a bar.")
        opened = SlitOpened(piece=piece.name, slit=slit.name, gore=gore.name, line=slit.line, width=self.width)
        made = replace(after, pieces=(*after.pieces, gore), seams=seams)
        return Altered(made, (*notes, *_near(piece, slit)), (opened,))


def _refuse_second(pattern: Pattern, piece: Piece, slit: Slit) -> None:
    lips = lips_of(piece.name, slit.name)
    there = [own.piece for own, slitted, _ in pattern.in_slits if slitted == lips]
    if there:
        what = f"{upper_first(slit_title(slit.name))} of {piece_words(piece.name)} already has {piece_words(there[0])}."
        raise FitError.of("slit_foot", what, "Widen that gore at its legs, or let one in elsewhere.", code="gore-there")


def _slit_end(piece: Piece, foot: Point, where: str) -> tuple[Role, Point]:
    """The role of the bottom or top edge the foot lies on, and the foot set on that edge.

    Raises:
        FitError: when the foot is more than 1/4 in off every such edge.
    """
    edges = [edge for edge in piece.edges if edge.role in END_ROLES]
    found = [(*run_spot(edge.segments, foot), edge) for edge in edges]
    spot, away, edge = min(found, key=lambda hit: hit[1], default=(foot, math.inf, None))
    if edge is None or away > FOOT_OFF_MM:
        off = f"{both(away)} off the bottom and top edges" if edge else "on a piece without bottom or top edge"
        what = f"The slit's foot, {foot}, lies {off} of {piece_words(piece.name)}."
        raise FitError.of(where, what, "Give a point on the bottom or top edge.", code="slit-off-edge")
    return edge.role, spot


def refuse_channels(piece: Piece, slit: Slit, where: str) -> None:
    """Refuse a slit that a channel lies across, naming the channels."""
    crossed = tuple(channel.name for channel in piece.channels if crosses(slit.line, channel.line))
    if crossed:
        said = f" of {piece_words(piece.name)} would lie across {slit_title(slit.name)}."
        remedy = "Move the channel aside or take it out first: no bone crosses a slit."
        raise FitError([bones_mistake(where, OfBones(piece.name, (crossed, said)), remedy, code="bone-crosses-slit")])


def _slit(piece: Piece, foot: Point, tip: Point) -> tuple[Slit, tuple[Note, ...]]:
    """The slit of that foot, its tip where it is asked for; or a new one."""
    there = next((s for s in piece.slits if distance(s.line[0], foot) <= SAME_FOOT_MM), None)
    if there is None:
        slit = Slit(next(free_names("s", {s.name for s in piece.slits})), (foot, tip))
        refuse_channels(piece, slit, "slit_foot")
        return slit, ()
    if distance(there.line[-1], tip) <= SAME_FOOT_MM:
        refuse_channels(piece, there, "slit_foot")
        return there, ()
    recut = replace(there, line=(there.line[0], tip))
    refuse_channels(piece, recut, "slit_foot")
    said = f"{upper_first(slit_title(there.name))} of {piece_words(piece.name)} is cut anew"
    return recut, (f"{said}, {both(line_length(recut.line))} long.",)


def _with_slit(piece: Piece, slit: Slit) -> Piece:
    if any(old.name == slit.name for old in piece.slits):
        return replace(piece, slits=tuple(slit if old.name == slit.name else old for old in piece.slits))
    return replace(piece, slits=(*piece.slits, slit))


def _gore(pattern: Pattern, piece: Piece, slit: Slit, width: float, role: Role) -> Piece:
    """The gore, its tip and middle line on those of the slit."""
    size, tip = slit_length(slit), slit.line[-1]
    axis = scaled(unit(sub(slit.line[0], tip)), size)
    half = math.asin(width / (2.0 * size))
    # Seen with y upwards, a turn counter-clockwise of a downward axis goes towards the back, of an upward one forwards.
    spread = half if role == "bottom" else -half
    back, front = (turn(tip, angle)(add(tip, axis)) for angle in (spread, -spread))
    legs = {"leg-front": (tip, front), "leg-back": (back, tip)} if role == "bottom" else {
        "leg-back": (tip, back), "leg-front": (front, tip),
    }  # fmt: skip
    (down, up), (first, last) = legs.keys(), (front, back) if role == "bottom" else (back, front)
    edges = (
        Edge(down, "seam", (Line(*legs[down]),)),
        Edge("hem", role, _arc(tip, first, last)),
        Edge(up, "seam", (Line(*legs[up]),)),
    )
    name = next(free_names("gore-", pattern.names))
    cut = "pair" if piece.cut == "fold" else piece.cut
    ends = (0.9, 0.3) if role == "bottom" else (0.3, 0.9)
    grain = (along(tip, add(tip, axis), ends[0]), along(tip, add(tip, axis), ends[1]))
    return Piece(name, cut, piece.side, edges=edges, levels=_levels(piece, slit, front, back=back), grain=grain)


def _arc(tip: Point, start: Point, end: Point) -> Run:
    """The arc about the tip, counter-clockwise, as cubics of at most 45 degrees (true to 1e-6 of the radius)."""
    sweep = 2.0 * math.asin(min(1.0, distance(start, end) / (2.0 * distance(tip, start))))
    steps = math.ceil(sweep / LARGEST_ARC_RAD)
    handle = 4.0 / 3.0 * math.tan(sweep / steps / 4.0)
    points = [turn(tip, sweep * i / steps)(start) for i in range(steps)] + [end]
    return tuple(
        Cubic(p, add(p, scaled(across(sub(p, tip)), handle)), sub(q, scaled(across(sub(q, tip)), handle)), q)
        for p, q in pairwise(points)
    )


def _levels(piece: Piece, slit: Slit, front: Point, back: Point) -> dict[str, Polyline]:
    """The piece's levels that cross the slit, straight across the gore at the same distance from the tip."""
    size, tip = slit_length(slit), slit.line[-1]
    found: dict[str, Polyline] = {}
    for station, level in piece.levels.items():
        from_tip = _crossed_at(slit, level)
        if from_tip is not None and from_tip / size * distance(front, back) > LEAST_LEVEL_MM:
            found[station] = (along(tip, front, from_tip / size), along(tip, back, from_tip / size))
    return found


def _crossed_at(slit: Slit, level: Polyline) -> float | None:
    """How far from the tip the level crosses the slit; a level within 1 mm of the foot counts as crossing there."""
    size = slit_length(slit)
    done = 0.0
    for index, (a, b) in enumerate(pairwise(slit.line)):
        leg = distance(a, b)
        for p, q in pairwise(level):
            for s, t in line_hits(Line(p, q), a, b) if p != q and leg else ():
                at = done + t * leg
                if (0.0 <= t <= 1.0 or (index == 0 and -PAST_FOOT_MM <= at < 0.0)) and 0.0 <= s <= 1.0:
                    return size - max(0.0, at)
        done += leg
    return None


def _seams(gore: str, piece: str, slit: str) -> tuple[Seam, ...]:
    lips = lips_of(piece, slit)
    return tuple(Seam(f"{gore}-{leg}", EdgeRef(gore, f"leg-{leg}"), lips) for leg in ("front", "back"))


def _near(piece: Piece, slit: Slit) -> tuple[Note, ...]:
    near = tuple(c.name for c in piece.channels if line_gap(slit.line, c.line) < c.width / 2.0 + SLIT_CLEARANCE_MM)
    if not near:
        return ()
    said = f" of {piece_words(piece.name)} stitched less than {both(SLIT_CLEARANCE_MM)} from {slit_title(slit.name)}"
    return (OfBones(piece.name, (near, f"{said}: the seam of the gore needs more room.")),)
