"""The measurements of ruler-and-pencil steps as data, so that they can be followed without reading the words.

All lengths are mm as she reads them off her ruler: rounded to its divisions. Along an edge is measured on the line
itself, from its `start` or `end` as the outline goes round counter-clockwise.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.work_layers import Lettered
from diagnose.sheets.hand.pictures import Picture, beside_one_another

__all__ = [
    "Arcs", "AtPlace", "Chord", "Closing", "Corner", "CutAcross", "End", "Figure", "Folding", "GoreFigure",
    "Halfway", "HandStep", "Inset", "Kind", "NewLine",
    "OnEdge", "Place", "RubbedOut", "Ruled", "Slide", "Spreading", "Square",
    "Tab", "Width",
]  # fmt: skip

End = Literal["start", "end"]


class Corner(Struct, frozen=True):
    """An end of an edge: a corner of the piece."""

    edge: str
    end: End


class OnEdge(Struct, frozen=True):
    """A mark `mm` along an edge from one of its ends."""

    mark: str
    piece: str
    edge: str
    end: End
    mm: float


class AtPlace(Struct, frozen=True):
    """A mark where the piece has a landmark."""

    mark: str
    piece: str
    landmark: str


class Arcs(Struct, frozen=True):
    """A mark where two arcs cross, struck from corners (or marks); on the left of first→second when `left`."""

    mark: str
    piece: str
    first: Corner | str
    first_mm: float
    second: Corner | str
    second_mm: float
    left: bool


class Inset(Struct, frozen=True):
    """A mark inside the piece: `mm` along an edge from one of its ends, then square to the edge, `in_mm` inwards."""

    mark: str
    piece: str
    edge: str
    end: End
    mm: float
    in_mm: float


class Square(Struct, frozen=True):
    """A mark `mm` from `at`, square to the line between two marks; positive to the left of first→second."""

    mark: str
    piece: str
    at: str
    line: tuple[str, str]
    mm: float


class Folding(Struct, frozen=True):
    """The line `moving` is laid on the line `still` (both as pairs of marks): the paper between is folded away."""

    piece: str
    moving: tuple[str, str]
    still: tuple[str, str]


class Spreading(Struct, frozen=True):
    """The paper is cut along the line, and one side moved off (overlapping where negative) by so much at each mark."""

    piece: str
    line: tuple[str, str]
    apart_mm: tuple[float, float]
    moves: Literal["left", "right"]


class Closing(Struct, frozen=True):
    """A dart with its point at one mark and its legs through two others is closed by turning one side of it."""

    piece: str
    point: str
    moving: str
    still: str
    relief: str | None


class CutAcross(Struct, frozen=True):
    """Every piece named is cut at so much above a level, and closed (or opened, negative) on the side off the waist.

    The cut is square to the grain, or runs as the level does (`level_run`), as far from it all along.
    """

    pieces: tuple[str, ...]
    station: str
    offset_mm: float
    amount_mm: float
    level_run: bool = False


class NewLine(Struct, frozen=True):
    """A new line beside an old run of edges: at each (mm along, mm off) a mark, and a smooth line through them.

    Along is measured from the run's end named; off is square to the old line, inwards positive, or in the direction
    `way` (a vector of length one). An `even` line runs parallel to the old one. The line is drawn on until it meets
    the edges beside it, which are run on straight where they are too short.
    """

    piece: str
    edges: tuple[str, ...]
    end: End
    marks: tuple[tuple[float, float], ...]
    way: Point | None = None
    even: bool = False

    @property
    def seen(self) -> bool:
        """Whether any mark lies off the old line as far as a ruler can show."""
        return any(off for _, off in self.marks)


class Halfway(Struct, frozen=True):
    """The place half way between the cut ends of two edges whose corner fell away."""

    ends: tuple[Corner, Corner]


Place = tuple[str, End, float] | Halfway


class Chord(Struct, frozen=True):
    """An edge drawn afresh between two places of it: a ruler laid from the one to the other, and marks beside it.

    The places are (edge, end of it, mm along it, or past it where negative) on the lines as they lie before they
    are trued, or lie half way between two of them; the marks (mm along the ruler, mm off, inwards positive).
    """

    piece: str
    edge: str
    first: Place
    last: Place
    marks: tuple[tuple[float, float], ...]


class GoreFigure(Struct, frozen=True):
    """A gore: legs of one length, and the chord between their feet on an arc about the tip."""

    piece: str
    slit_foot: str
    slit_tip: str
    leg_mm: float
    width_mm: float


class Ruled(Struct, frozen=True):
    """A line from one mark to another, stopping so far short of either: straight, or through the marks `over`.

    `what` is `channel:NAME`, `slit:NAME`, `level:STATION` or `grain`.
    """

    piece: str
    what: str
    marks: tuple[str, str]
    short_mm: tuple[float, float] = (0.0, 0.0)
    over: tuple[str, ...] = ()


class RubbedOut(Struct, frozen=True):
    """A line that is no more; `what` as for `Ruled`."""

    piece: str
    what: str


class Slide(Struct, frozen=True):
    """Something moved on along its own line by so much.

    `what` is `slit:NAME` (its tip moves on, away from the foot), `channel:NAME:start` or `:end` (that end of it moves
    on, away from the other; negative makes the channel shorter), `edge:NAME` (a hem carried on outwards along the
    slits and the edges beside it, negative inwards) or a landmark (along the top edge, towards the back).
    """

    piece: str
    what: str
    by_mm: float


class Tab(Struct, frozen=True):
    """Edges and the landmark on them traced and slid straight across by so much, towards the back.

    The edges beside them have steps of their own.
    """

    piece: str
    edges: tuple[str, ...]
    landmark: str
    by_mm: float


class Width(Struct, frozen=True):
    """How wide a piece should now be along a level."""

    piece: str
    station: str
    mm: float


Figure = (
    OnEdge | AtPlace | Arcs | Inset | Square | Folding | Spreading | Closing | CutAcross | NewLine | Chord | GoreFigure
    | Ruled | RubbedOut | Slide | Tab | Width
)  # fmt: skip


Kind = Literal["split", "mark", "cut", "true", "line", "follow", "bones", ""]


class HandStep(Struct, frozen=True):
    """One thing to do at the table.

    Attributes:
        text: what to do, lengths in the maker's unit.
        table: places and measurements that the text announces, a row each.
        figures: the same measurements as data.
        pictures: the places, with their marks.
        brief: the step in one short line, for the sheet that hangs on the wall.
        kind: of steps of one kind that follow on one another, one step is made.
        rows: how the step stands among others of its kind, as rows of their table.
        marks: the lettered marks that it sets.
    """

    text: str
    table: tuple[tuple[str, str], ...] = ()
    figures: tuple[Figure, ...] = ()
    pictures: tuple[Picture, ...] = ()
    brief: str = ""
    kind: Kind = ""
    rows: tuple[tuple[str, str], ...] = ()
    marks: tuple[Lettered, ...] = ()

    @property
    def picture(self) -> Drawing | None:
        """The pictures of the step beside one another."""
        return beside_one_another(self.pictures)
