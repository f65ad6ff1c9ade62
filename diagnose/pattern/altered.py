"""What an operation hands back: the new pattern, what the maker should know, and the zones it has worked on.

Zones say where paper was taken or added, what moved, and which lines were drawn afresh, so that nobody has to find it
out again by comparing two outlines. They stand in the order in which the work was done. Millimetres; unless a zone says
otherwise its points lie on the paper as it lay before that step.
"""

from __future__ import annotations

from functools import cached_property
from typing import Literal, TypeAlias

from msgspec import Struct

from diagnose.pattern.geometry.bezier import Box, box_of, may_be_near
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.geometry.runs import run_length
from diagnose.pattern.in_words import Note
from diagnose.pattern.outline import Pattern, Point, Polyline, Role, Run
from diagnose.pattern.tolerances import NOTABLE_MM

__all__ = [
    "Altered", "EdgeParts", "EndSet", "PaperOpened", "PartMoved", "RunRedrawn", "SlitOpened",
    "StripFolded", "WedgeClosed", "Zone",
]  # fmt: skip


class StripFolded(Struct, frozen=True):
    """A strip folded out of a piece: the one of its sides was laid on the other.

    Attributes:
        piece: the piece's name.
        line: the strip's middle line, from where it comes on to the paper to where it leaves it.
        widths: the strip's width at the two ends of the line, mm; nothing where it comes to a point.
        moving: the side of the strip that moved, from outline to outline, in the direction of the line.
        still: the side that it was laid on.
    """

    piece: str
    line: Polyline
    widths: tuple[float, float]
    moving: Polyline
    still: Polyline

    @property
    def ring(self) -> Polyline:
        """The corners of the paper that fell away, in order round it."""
        return (*self.moving, *reversed(self.still))


class WedgeClosed(Struct, frozen=True):
    """The wedge of a dart, closed by turning one part about the dart's point.

    Attributes:
        piece: the piece's name.
        mouth: the middle of its opening, on the outline.
        point: its point.
        width: the opening asked for, mm.
        moving: where the leg of the part that turned ended on the outline.
        still: where the other leg ends.
    """

    piece: str
    mouth: Point
    point: Point
    width: float
    moving: Point
    still: Point

    @property
    def ring(self) -> Polyline:
        """The corners of the paper that fell away, in order round it."""
        return self.point, self.moving, self.mouth, self.still


class PaperOpened(Struct, frozen=True):
    """A cut that was drawn apart and filled with new paper: a spread, or the slash of a dart.

    Attributes:
        piece: the piece's name.
        cut: the cut on the old paper, in the direction in which the operation names it.
        widths: how far apart its two ends stand now, mm.
        ring: the corners of the new paper, in order round it, on the piece as it is now.
    """

    piece: str
    cut: Polyline
    widths: tuple[float, float]
    ring: Polyline


class PartMoved(Struct, frozen=True):
    """The part of a piece that was carried as one.

    Attributes:
        piece: the piece's name.
        move: how it was carried.
        runs: the stretches of edge it bears, as they lay before: the edge's name and the stretch.
    """

    piece: str
    move: Affine
    runs: tuple[tuple[str, Run], ...]


class EdgeParts(Struct, frozen=True):
    """What a cut has left of one edge, lying where its paper lies now and not yet trued.

    Attributes:
        piece: the piece's name.
        edge: the edge's name.
        runs: the parts in order; between two of them something fell away or was opened.
        began_mm: for each part, how far along the old edge it began.
    """

    piece: str
    edge: str
    runs: tuple[Run, ...]
    began_mm: tuple[float, ...]


class RunRedrawn(Struct, frozen=True, dict=True):
    """A stretch of an edge drawn afresh.

    Attributes:
        piece: the piece's name.
        edge: the edge's name.
        role: the edge's role.
        why: `moved` or `reshaped` where that was what was asked for; `closed` where the end of an edge was brought to
            the one beside it because their corner fell away; `corner` where a corner had appeared, `step` where the
            edge had jumped sideways; `partner` where an end follows a seam that was walked; `square` where it was drawn
            to meet the edge beside as it did before.
        old: the stretch as it lay just before it was redrawn (on paper that may have moved).
        new: the stretch as drawn.
        start_mm: how far along the edge, as it is now, the stretch begins.
        by_mm: the most the line moved, square to itself (not less than 0; roughly, where it was moved on purpose).
    """

    piece: str
    edge: str
    role: Role
    why: Literal["moved", "reshaped", "closed", "corner", "step", "partner", "square"]
    old: Run
    new: Run
    start_mm: float
    by_mm: float

    @cached_property
    def reach_mm(self) -> float:
        """How far along the edge the redrawing goes, the whole of it."""
        return run_length(self.new)

    @property
    def trues(self) -> bool:
        """Whether it makes fair what a cut has put out of true, by enough to see."""
        return self.why in ("corner", "step", "square") and self.by_mm > NOTABLE_MM

    @property
    def end_mm(self) -> float:
        """How far along the edge, as it is now, the stretch ends."""
        return self.start_mm + self.reach_mm

    @cached_property
    def box(self) -> Box:
        """The box round the stretch before; what is asked of a zone is mostly far from it."""
        return box_of(self.old)

    def near(self, point: Point, within_mm: float) -> bool:
        """A quick look whether the point can lie so near the stretch as it was."""
        return self.box.off(point) <= within_mm and may_be_near(self.old, point, within_mm)


class EndSet(Struct, frozen=True):
    """An end of an edge trimmed, or drawn on along its own line.

    Attributes:
        piece: the piece's name.
        edge: the edge's name.
        at_start: whether it is the edge's start, as the outline goes round.
        why: `adjoins` where it was drawn to the edge beside, which moved; `partner` where a seam was walked.
        now: where the end lies.
        by_mm: how much longer the edge has become there; negative where it was trimmed.
        reach_mm: how far the edge beside was redrawn to it; 0 where that is what moved.
    """

    piece: str
    edge: str
    at_start: bool
    why: Literal["adjoins", "partner"]
    now: Point
    by_mm: float
    reach_mm: float = 0.0


class SlitOpened(Struct, frozen=True):
    """A slit cut from an edge, and the gore let into it.

    Attributes:
        piece: the piece that is slit.
        slit: the slit's name.
        gore: the gore's name among the pieces.
        line: the slit from foot to tip.
        width: the gore's width at its foot, mm.
    """

    piece: str
    slit: str
    gore: str
    line: Polyline
    width: float


Zone: TypeAlias = StripFolded | WedgeClosed | PaperOpened | PartMoved | EdgeParts | RunRedrawn | EndSet | SlitOpened


class Altered(Struct, frozen=True):
    """A new pattern, plain sentences for the maker, and what was worked on, in the order of the work."""

    pattern: Pattern
    notes: tuple[Note, ...] = ()
    zones: tuple[Zone, ...] = ()

    @property
    def trued(self) -> tuple[RunRedrawn | EndSet, ...]:
        """Where an edge was redrawn, or an end set, that nobody asked to be moved."""
        return tuple(
            zone
            for zone in self.zones
            if (isinstance(zone, EndSet) and zone.why == "partner") or (isinstance(zone, RunRedrawn) and zone.trues)
        )

    def then(self, done: Altered) -> Altered:
        """What was done to this pattern in turn, with what was said and worked on before."""
        return Altered(done.pattern, (*self.notes, *done.notes), (*self.zones, *done.zones))
