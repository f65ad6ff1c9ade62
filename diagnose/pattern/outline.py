"""The flat pattern as values: points, edges, pieces, seams.

Millimetres. x grows from centre front to centre back, y grows upwards, outlines run counter-clockwise, and only
stitching lines are held. Everything is frozen: an operation takes a pattern and returns a new one.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from itertools import count, groupby
from typing import Literal, NamedTuple, Protocol, get_args

from msgspec import Struct, field
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.units import both

__all__ = [
    "CUTS", "END_ROLES", "HALVES", "ROLES", "SIDES", "SIDE_ROLES", "SLIT_PREFIX", "STIFF_ROLES", "Along", "Channel",
    "Cubic", "Cut", "Edge", "EdgeRef", "Line", "Notch", "Pattern", "Piece", "Point", "Polyline", "Role", "Run", "Seam",
    "Segment", "Side", "Slit", "free_names", "half_name", "lips_of", "pair_and_side", "run_of", "runs_along",
]  # fmt: skip

Role = Literal["fold", "opening", "lacing", "seam", "top", "bottom"]
ROLES: tuple[Role, ...] = get_args(Role)
END_ROLES: tuple[Role, ...] = ("top", "bottom")
STIFF_ROLES: tuple[Role, ...] = ("fold", "opening", "lacing")
"""The edges that steel runs along, or the fold of the cloth: they stay straight."""
SIDE_ROLES: tuple[Role, ...] = ("seam", *STIFF_ROLES)
"""The edges to the front and the back of a piece; the other two close it above and below."""
Cut = Literal["fold", "pair", "single"]
CUTS: tuple[Cut, ...] = get_args(Cut)
Side = Literal["both", "left", "right"]
SIDES: tuple[Side, ...] = get_args(Side)
SLIT_PREFIX = "slit:"
HALVES: tuple[Side, Side] = ("left", "right")
"""The two pieces that a pair is parted into."""


def half_name(pair: str, side: Side) -> str:
    """What the piece (or seam) of one side is called once its pair has been parted."""
    return f"{pair}-{side}"


def free_names(stem: str, taken: Collection[str]) -> Iterator[str]:
    """Of stem1, stem2 and so on those that are not taken."""
    return (name for n in count(1) if (name := f"{stem}{n}") not in taken)


def pair_and_side(name: str) -> tuple[str, str]:
    """The name of the pair that a piece (or seam) is a half of by its name, and its side; as it is, and none, else."""
    pair, _, side = name.rpartition("-")
    return (pair, side) if pair and side in HALVES else (name, "")


class Point(NamedTuple):
    """A place on the paper, in mm."""

    x: float
    y: float

    def __str__(self) -> str:
        """The place as it stands in a sentence: how far out and how far up, as in a table measured off paper."""
        across, along = "out" if self.x >= 0.0 else "left of zero", "up" if self.y >= 0.0 else "down"
        return f"{both(abs(self.x))} {across} and {both(abs(self.y))} {along}"


# A segment is a tuple, for tuples are made and compared several times as fast, and operations make thousands.
class Line(NamedTuple):
    """A straight stretch of an edge."""

    start: Point
    end: Point


class Cubic(NamedTuple):
    """A curved stretch of an edge: a cubic Bézier."""

    start: Point
    c1: Point
    c2: Point
    end: Point


Segment = Line | Cubic
Run = tuple[Segment, ...]
Polyline = tuple[Point, ...]


class Segmented(Protocol):
    """What has segments, each beginning where the one before it ends."""

    @property
    def segments(self) -> Run:
        """The segments, in order."""


class Along(Struct, frozen=True):
    """What runs along segments: where it begins and ends."""

    @property
    def start(self: Segmented) -> Point:
        """Where it begins."""
        return self.segments[0].start

    @property
    def end(self: Segmented) -> Point:
        """Where it ends."""
        return self.segments[-1].end


class Edge(Along, frozen=True):
    """A named run of segments, each beginning where the one before it ends."""

    name: str
    role: Role
    segments: Run


def run_of(edges: Iterable[Edge]) -> Run:
    """The segments of the edges, one after the other."""
    return tuple(segment for edge in edges for segment in edge.segments)


def runs_along(piece: Piece, names: Collection[str]) -> list[tuple[Edge, ...]]:
    """The edges of those names as the outline goes round, those that adjoin together."""
    ring, meant = piece.edges, [edge.name in names for edge in piece.edges]
    first = next((n for n, own in enumerate(meant) if own and not meant[n - 1]), 0)
    order = [(first + n) % len(ring) for n in range(len(ring))]
    return [tuple(ring[n] for n in run) for own, run in groupby(order, key=lambda n: meant[n]) if own]


class Channel(Struct, frozen=True):
    """A boning channel: its middle line and its stitched width."""

    name: str
    line: Polyline
    width: float

    @property
    def middle(self) -> Point:
        """Half-way between its two ends."""
        (x0, y0), (x1, y1) = self.line[0], self.line[-1]
        return Point((x0 + x1) / 2.0, (y0 + y1) / 2.0)


class Slit(Struct, frozen=True):
    """A cut between two tabs; its first point (the foot) lies on the bottom (or top) edge, its last is the tip."""

    name: str
    line: Polyline


class Notch(Struct, frozen=True):
    """A match mark `at` mm along the edge from the edge's start."""

    edge: str
    at: float


def _no_such(kind: str, what: str, known: Iterable[str], where: str = "") -> FitError:
    """The refusal of a name that is not there, with those that are."""
    return FitError.of(where or kind, what, f"It has: {', '.join(known) or 'none'}.", code=f"no-such-{kind}")


class Piece(Struct, frozen=True):
    """One pattern piece: a closed outline of named edges, and the marks that lie on its paper."""

    name: str
    cut: Cut
    side: Side
    edges: tuple[Edge, ...]
    levels: Mapping[str, Polyline] = field(default_factory=dict)
    landmarks: Mapping[str, Point] = field(default_factory=dict)
    channels: tuple[Channel, ...] = ()
    slits: tuple[Slit, ...] = ()
    notches: tuple[Notch, ...] = ()
    grain: tuple[Point, Point] | None = None
    extra: Mapping[str, object] = field(default_factory=dict)

    @property
    def copies(self) -> int:
        """How many times the piece stands in the whole garment: 2 for a pair or a piece on the fold, else 1."""
        return 1 if self.cut == "single" else 2

    def edge(self, name: str) -> Edge:
        """The edge of that name.

        Raises:
            FitError: when there is none; the sentence lists those there are.
        """
        for edge in self.edges:
            if edge.name == name:
                return edge
        raise _no_such("edge", f"Piece '{self.name}' has no edge '{name}'.", (edge.name for edge in self.edges))

    def level(self, station: str) -> Polyline:
        """The level of that station, a polyline across the piece.

        Raises:
            FitError: when there is none; the sentence lists those there are.
        """
        if station in self.levels:
            return self.levels[station]
        raise _no_such("level", f"Piece '{self.name}' has no level '{station}'.", self.levels, where="at")

    def with_notches_at(self, places: Mapping[str, Callable[[float], float]]) -> Piece:
        """The piece with the notches of the edges named where these say that a place, mm along the edge, lies now."""
        made = (replace(one, at=places[one.edge](one.at)) if one.edge in places else one for one in self.notches)
        return replace(self, notches=tuple(made))

    def with_edge(self, edge: Edge) -> Piece:
        """The piece with the edge of that name replaced."""
        return replace(self, edges=tuple(edge if old.name == edge.name else old for old in self.edges))


class EdgeRef(NamedTuple):
    """An edge of a piece, or the lips of a slit, by name: ``slit:NAME`` names a slit's lips."""

    piece: str
    edge: str

    @property
    def slit(self) -> str:
        """The name of the slit whose lips it is; empty for an edge."""
        return self.edge.removeprefix(SLIT_PREFIX) if self.edge.startswith(SLIT_PREFIX) else ""


def lips_of(piece: str, slit: str) -> EdgeRef:
    """The lips of a slit, as seams name them."""
    return EdgeRef(piece, SLIT_PREFIX + slit)


class Seam(Struct, frozen=True):
    """Two edges sewn together; `ease` is how much longer `a` is than `b` on purpose, in mm."""

    name: str
    a: EdgeRef
    b: EdgeRef
    ease: float = 0.0

    @property
    def refs(self) -> tuple[EdgeRef, EdgeRef]:
        """Its two sides."""
        return self.a, self.b

    @property
    def both_ways(self) -> tuple[tuple[EdgeRef, EdgeRef], tuple[EdgeRef, EdgeRef]]:
        """Each of its sides with the other."""
        return (self.a, self.b), (self.b, self.a)

    @property
    def pieces(self) -> frozenset[str]:
        """The names of the pieces that it joins."""
        return frozenset((self.a.piece, self.b.piece))


class Pattern(Struct, frozen=True):
    """The pieces of one half of the garment (or of both halves, where a pair has been split) and their seams."""

    name: str
    closure: str
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...] = ()
    extra: Mapping[str, object] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its pieces, in order."""
        return tuple(piece.name for piece in self.pieces)

    @property
    def in_slits(self) -> tuple[tuple[EdgeRef, EdgeRef, Seam], ...]:
        """Each edge that is sewn into a slit, with the slit's lips and their seam."""
        return tuple((own, lips, seam) for seam in self.seams for own, lips in seam.both_ways if lips.slit)

    def piece(self, name: str) -> Piece:
        """The piece of that name.

        Raises:
            FitError: when there is none; the sentence lists those there are.
        """
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise _no_such("piece", f"The pattern has no piece '{name}'.", self.names)

    def with_piece(self, piece: Piece) -> Pattern:
        """The pattern with the piece of that name replaced."""
        return replace(self, pieces=tuple(piece if old.name == piece.name else old for old in self.pieces))
