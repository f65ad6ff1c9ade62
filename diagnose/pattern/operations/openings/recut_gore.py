"""`recut-gore`: a gore sewn into a slit is drawn anew, its tip farther from the edge or nearer, or its foot swung.

Millimetres. `swing` moves the slit's foot along its edge, toward the back (negative: toward the front), about the tip.
`lengthen` makes slit and legs so much longer (negative: shorter) in the slit's line; the foot stays where it then is.
What is kept is the `hem`, the width from foot to foot, or the `angle` at the tip, so that the width grows with the
length. The legs are straight and as long as the slit, and the hem is an arc about the tip.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar, Literal

from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import add, distance, scaled, sub, unit
from diagnose.pattern.geometry.runs import run_nearest, run_point_at
from diagnose.pattern.in_words import edge_words, piece_first, piece_words, slit_title
from diagnose.pattern.measure import edge_length, slit_length
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.operations.operation import OnPiece
from diagnose.pattern.operations.parameters import Parameter, a_length, a_name, may, need, one_of
from diagnose.pattern.outline import END_ROLES, EdgeRef, Pattern, Piece, Point, Seam, Slit, lips_of
from diagnose.sentences import upper_first
from diagnose.units import INCH_MM, both

__all__ = ["RecutGore"]

LEAST_DEPTH_MM = INCH_MM
"""No slit is made shorter than this."""
FOOT_INSIDE_MM = INCH_MM / 4
"""How far from the ends of its edge a swung foot stays: the seam's allowance must be turned beside it."""


class RecutGore(OnPiece, frozen=True):
    """Which gore, how much longer it and its slit become, what of it is kept, and how far its foot swings."""

    op: ClassVar[str] = "recut-gore"
    called: ClassVar[str] = "a gore recut"
    parameters: ClassVar[tuple[Parameter, ...]] = (
        need("piece", a_name),
        need("lengthen", a_length),
        may("keep", one_of("keep", "hem", "angle")),
        may("swing", a_length),
    )
    sized: ClassVar[tuple[str, ...]] = ("lengthen", "swing")

    lengthen: float
    keep: Literal["hem", "angle"] = "hem"
    swing: float = 0.0

    def done(self, pattern: Pattern) -> Altered:
        """The pattern with slit and gore drawn anew.

        Raises:
            FitError: when the piece is no gore sewn into a slit, the slit would be too short or leave its piece, or its
                foot would swing off its edge.
        """
        gore = pattern.piece(self.piece)
        body, slit = _slit_of(pattern, gore)
        tip = slit.line[-1]
        foot = _swung(body, slit.line[0], self.swing) if self.swing else slit.line[0]
        size = distance(foot, tip) if self.swing else slit_length(slit)
        if size + self.lengthen < LEAST_DEPTH_MM:
            what = f"{upper_first(slit_title(slit.name))} would be {both(size + self.lengthen)} long."
            raise FitError.of("lengthen", what, f"Leave at least {both(LEAST_DEPTH_MM)} of it.", code="slit-too-short")
        moved = add(tip, scaled(unit(sub(tip, foot)), self.lengthen))
        width = _hem_width(pattern, gore) * ((size + self.lengthen) / size if self.keep == "angle" else 1.0)
        bare = replace(
            pattern.with_piece(replace(body, slits=tuple(s for s in body.slits if s.name != slit.name))),
            seams=tuple(seam for seam in pattern.seams if gore.name not in seam.pieces),
        )
        bare = replace(bare, pieces=tuple(piece for piece in bare.pieces if piece.name != gore.name))
        made = InsertGore(piece=body.name, slit_foot=foot, tip=moved, width=width).done(bare).pattern
        said = f"{upper_first(slit_title(slit.name))} of {piece_words(body.name)} and {piece_words(gore.name)} are"
        notes = []
        if self.lengthen:
            longer = "longer" if self.lengthen > 0.0 else "shorter"
            notes.append(f"{said} cut {both(abs(self.lengthen))} {longer}: bar the new tip.")
        if self.swing:
            way = "back" if self.swing > 0.0 else "front"
            notes.append(f"{said} swung {both(abs(self.swing))} toward the {way} at the edge: the tip stays.")
        sewn = [seam for seam in pattern.seams if gore.name in seam.pieces]
        return Altered(_named_as_before(made, gore, body, slit=slit, old_seams=sewn), tuple(notes))


def _swung(body: Piece, foot: Point, swing: float) -> Point:
    """The foot moved along its edge, above 0 toward the back."""
    edges = [edge for edge in body.edges if edge.role in END_ROLES]
    edge = min(edges, key=lambda one: run_nearest(one.segments, foot)[1])
    onward = swing if edge.end.x > edge.start.x else -swing
    at, size = run_nearest(edge.segments, foot)[0] + onward, edge_length(edge)
    if not FOOT_INSIDE_MM <= at <= size - FOOT_INSIDE_MM:
        what = f"Swung by {both(abs(swing))}, the foot of the slit would come off {edge_words(edge)} of"
        what += f" {piece_words(body.name)}."
        raise FitError.of("swing", what, "Swing it less, or set the gore into the next panel.", code="off-its-edge")
    return run_point_at(edge.segments, at)


def _slit_of(pattern: Pattern, gore: Piece) -> tuple[Piece, Slit]:
    """The piece and the slit that the gore is sewn into by two legs."""
    lips = [lips for own, lips, _ in pattern.in_slits if own.piece == gore.name]
    if len(lips) != 2 or lips[0] != lips[1]:
        what = f"{piece_first(gore.name)} is not sewn by two legs into one slit."
        raise FitError.of("piece", what, "Name a gore, or draw its legs anew by hand.", code="not-a-gore")
    body = pattern.piece(lips[0].piece)
    return body, next(slit for slit in body.slits if slit.name == lips[0].slit)


def _hem_width(pattern: Pattern, gore: Piece) -> float:
    """The chord from foot to foot: the legs meet at the tip."""
    one, other = [gore.edge(own.edge) for seam in pattern.seams for own in seam.refs if own.piece == gore.name][:2]
    pairs = [(a, b) for a in (one.start, one.end) for b in (other.start, other.end)]
    tip = min(pairs, key=lambda pair: distance(*pair))
    return max(distance(a, b) for a, b in pairs if a != tip[0] and b != tip[1])


def _named_as_before(made: Pattern, gore: Piece, body: Piece, slit: Slit, old_seams: Sequence[Seam]) -> Pattern:
    """The new gore, its seams and the new slit under the old names."""
    fresh, cut = made.pieces[-1], made.piece(body.name).slits[-1]
    lips, old_lips = (lips_of(body.name, one.name) for one in (cut, slit))

    def renamed(ref: EdgeRef) -> EdgeRef:
        return old_lips if ref == lips else EdgeRef(gore.name, ref.edge) if ref.piece == fresh.name else ref

    others = [piece for piece in made.pieces[:-1] if piece.name != body.name]
    slitted = made.piece(body.name)
    slitted = replace(slitted, slits=(*slitted.slits[:-1], replace(cut, name=slit.name)))
    new = {
        **{piece.name: piece for piece in others}, body.name: slitted,
        gore.name: replace(fresh, name=gore.name, grain=fresh.grain, extra=gore.extra),
    }  # fmt: skip
    order = [piece.name for piece in made.pieces[:-1]]
    names = [seam.name for seam in old_seams]
    seams = [replace(seam, a=renamed(seam.a), b=renamed(seam.b)) for seam in made.seams]
    seams[-2:] = [replace(seam, name=name) for seam, name in zip(seams[-2:], names, strict=True)]
    return replace(made, pieces=tuple(new[name] for name in (*order, gore.name)), seams=tuple(seams))
