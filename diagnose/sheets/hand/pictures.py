"""Small pictures of the place on the paper that a step is about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from msgspec import Struct, field

from diagnose.pattern.geometry.bezier import Box, box_of, moved, tangent
from diagnose.pattern.geometry.plane import TURNED_OVER, across, add, scaled
from diagnose.pattern.geometry.runs import run_length, run_place, run_point_at
from diagnose.pattern.measure import bounds, outline_segments
from diagnose.pattern.outline import Edge, Piece, Point, Segment
from diagnose.sheets.drawn.drawing import (
    Anchor,
    Area,
    Drawing,
    Layer,
    Mark,
    Path,
    Pen,
    Text,
    box_round,
    clipped,
    polyline,
    shifted,
)
from diagnose.sheets.drawn.placing import carried
from diagnose.sheets.drawn.work_layers import letter_marks

__all__ = ["Picture", "beside_one_another"]

LEAST_SHARE = 0.55
PAD_SHARE = 0.16
LETTERS_SHARE = 0.088
NAMES_RATIO = 0.85
MOST_BESIDE = 4


class Picture(Struct, frozen=True, dict=True):
    """The piece near some marks: its outline thin, marks lettered, new lines and patches in the accent.

    It is drawn when it is asked for, once: most of them are for paper alone.

    Attributes:
        piece: the piece as it lies on the table.
        spots: marks by letter.
        lines: straight lines ruled in this step.
        curves: curved lines drawn in this step.
        patches: paper folded away or laid in.
        look_at: further places to hold in view.
        least_share: how much of the piece is shown at least.
    """

    piece: Piece
    spots: Mapping[str, Point] = field(default_factory=dict)
    lines: Sequence[Sequence[Point]] = ()
    curves: Sequence[Sequence[Segment]] = ()
    patches: Sequence[Sequence[Point]] = ()
    look_at: Sequence[Point] = ()
    least_share: float = LEAST_SHARE

    @cached_property
    def drawn(self) -> Drawing:
        """The drawing of it; a right piece lies turned over on the table."""
        return _drawing(self._turned_over() if self.piece.side == "right" else self)

    def _turned_over(self) -> Picture:
        over = TURNED_OVER
        return Picture(
            carried(self.piece, over),
            {name: over(p) for name, p in self.spots.items()},
            lines=[[over(p) for p in line] for line in self.lines],
            curves=[[moved(s, over) for s in curve] for curve in self.curves],
            patches=[[over(p) for p in patch] for patch in self.patches],
            look_at=[over(p) for p in self.look_at],
            least_share=self.least_share,
        )


def _drawing(shown: Picture) -> Drawing:
    piece, spots, lines, curves, patches = shown.piece, shown.spots, shown.lines, shown.curves, shown.patches
    places = [*spots.values(), *shown.look_at, *(p for run in (*lines, *patches) for p in run)]
    places += [end for curve in curves for segment in curve for end in (segment.start, segment.end)]
    frame = _view(bounds(piece), places, shown.least_share)
    size = max(frame.right - frame.left, frame.top - frame.bottom)
    letters = size * LETTERS_SHARE
    pen = size * 0.006
    set_marks = tuple(letter_marks(piece, [*spots.items()], letters, within=frame))
    drawn = (*map(polyline, lines), *(Path(tuple(run)) for run in curves))
    edges = tuple(_edge_names(piece, frame, letters * NAMES_RATIO, marks=set_marks))
    layers = (
        Layer("patches", "Paper", Pen(pen, "accent"), marks=tuple(Area((tuple(patch),)) for patch in patches)),
        Layer("slits", "Slits", Pen(pen * 0.8, "soft"), marks=tuple(polyline(slit.line) for slit in piece.slits)),
        Layer("paper", "The piece", Pen(pen * 1.1), marks=(Path(outline_segments(piece), closed=True),)),
        Layer("drawn", "Drawn now", Pen(pen * 1.7, "accent"), marks=drawn),
        Layer("edges", "Edges", Pen(pen, "soft"), marks=edges),
        Layer("marks", "Marks", Pen(pen * 1.4), marks=set_marks),
    )
    return clipped(Drawing(piece.name, tuple(layer for layer in layers if layer.marks), frame))


def beside_one_another(pictures: Sequence[Picture]) -> Drawing | None:
    """The pictures in one drawing, from left to right, each as high as the others; None where there is none."""
    drawings = [picture.drawn for picture in pictures[:MOST_BESIDE]]
    if len(drawings) < 2:
        return drawings[0] if drawings else None
    layers, left = list[Layer](), 0.0
    for drawing in drawings:
        frame = drawing.frame
        moved_layers = [shifted(layer, Point(left - frame.left, -frame.bottom)) for layer in drawing.layers]
        layers += moved_layers
        left += frame.right - frame.left
    high = max(drawing.frame.top - drawing.frame.bottom for drawing in drawings)
    return Drawing("", tuple(layers), Box(0.0, 0.0, left, high))


def _view(box: Box, places: Sequence[Point], least_share: float) -> Box:
    """The part of the piece that holds the places."""
    size = max(box.right - box.left, box.top - box.bottom)
    pad = size * PAD_SHARE
    if not places:
        return Box(box.left - pad, box.bottom - pad, box.right + pad, box.top + pad)
    held = box_of([places])
    cx, cy = (held.left + held.right) / 2.0, (held.bottom + held.top) / 2.0
    half = max(held.right - held.left + 2.0 * pad, held.top - held.bottom + 2.0 * pad, size * least_share) / 2.0
    return Box(cx - half, cy - half, cx + half, cy + half)


def _edge_names(piece: Piece, frame: Box, size: float, marks: Sequence[Mark]) -> list[Mark]:
    """The names of the edges whose middle is in view, just outside the outline and clear of the marks."""
    named: list[Mark] = []
    taken = [box_round([mark]) for mark in marks]
    for edge in piece.edges:
        spot, away = _outside(edge, turned=piece.side == "right")
        at = add(spot, scaled(away, size * 0.9))
        if run_length(edge.segments) <= size * 4.0 or frame.off(at) > 0.0:
            continue
        anchor: Anchor = "start" if away.x > 0.5 else "end" if away.x < -0.5 else "middle"
        drop = -size * 0.3 if away.y > -0.5 else -size * 0.9
        text = Text(edge.name.replace("-", " "), Point(at.x, at.y + drop), size, anchor=anchor)
        box = box_round([text])
        if not any(box.near(other, size * 0.3) for other in taken):
            named.append(text)
            taken.append(box)
    return named


def _outside(edge: Edge, *, turned: bool) -> tuple[Point, Point]:
    """The middle of the edge, and the direction out of the piece there."""
    half = run_length(edge.segments) / 2.0
    index, t = run_place(edge.segments, half)
    return run_point_at(edge.segments, half), scaled(across(tangent(edge.segments[index], t)), 1.0 if turned else -1.0)
