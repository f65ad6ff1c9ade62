"""A round outline whose corners are not known: numbered places round it, of which she says four, or taps them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from markupsafe import Markup
from msgspec import Struct

from diagnose.casework.begun import Begun, Seen
from diagnose.errors import FitError
from diagnose.pattern.geometry.bezier import point_at, tangent
from diagnose.pattern.geometry.plane import across, add, corner_deg, scaled
from diagnose.pattern.geometry.runs import run_length, run_nearest, run_place, run_places, run_point_at, run_points_at
from diagnose.pattern.measure import bounds, outline_segments
from diagnose.pattern.outline import Piece, Point, Segment
from diagnose.sheets.writers.svg import path_data

__all__ = [
    "CORNERS", "PLACES", "RoundPiece", "corner_at", "corners_said", "corners_scaled", "corners_turned",
    "round_pieces",
]  # fmt: skip

CORNERS = ("bottom, towards the front", "bottom, towards the back", "top, towards the back", "top, towards the front")
PLACES = 24
"""So many places round an outline bear a number."""

TURN_REACH_RATIO = 1 / 60
BEND_DEG = 12.0
"""Where the line near a place that is said turns by more than this within a short way, that corner is meant."""

TRIED = 25
WIDE_PX, LETTERS_PX, MARGIN_PX = 300.0, 14.0, 30.0


class RoundPiece(Struct, frozen=True):
    """A piece of which the corners are asked.

    Attributes:
        name: how the drawing calls it.
        picture: its outline with the numbered places.
        taken: for each corner, the number of the place that it is nearest to, or is thought to be.
        told: whether she has said them.
    """

    name: str
    picture: Markup
    taken: tuple[int, ...]
    told: bool


def round_pieces(begun: Begun, found: Seen) -> list[RoundPiece]:
    """The pieces whose corners are not known, and those of which she has told them."""
    pieces = found.pattern.pieces if found.pattern else ()
    unsure = {one.about for one in found.wrong if one.code == "edges-unsure"}
    told = {number: said["corners"] for number, said in begun.labels.get("pieces", {}).items() if said.get("corners")}
    shown = []
    for piece in pieces:
        number = found.numbers.get(piece.name, "")
        if number in unsure or number in told:
            spots = [Point(*spot) for spot in told.get(number, ())] or _farthest_out(piece)
            taken = tuple(_nearest(piece, one) for one in spots)
            shown.append(RoundPiece(piece.name, numbered(piece), taken, told=number in told))
    return shown


def _farthest_out(piece: Piece) -> list[Point]:
    """The places farthest out towards the four corners of the paper."""
    box, segments = bounds(piece), outline_segments(piece)
    spots = run_points_at(segments, [run_length(segments) * n / PLACES for n in range(PLACES)])
    wide, high = max(box.right - box.left, 1.0), max(box.top - box.bottom, 1.0)
    ways = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
    return [max(spots, key=lambda p: x * p.x / wide + y * p.y / high) for x, y in ways]


def _nearest(piece: Piece, spot: Point) -> int:
    segments = outline_segments(piece)
    return round(run_nearest(segments, spot)[0] / run_length(segments) * PLACES) % PLACES


def numbered(piece: Piece) -> Markup:
    """The outline with the number of each place beside it."""
    segments, box = outline_segments(piece), bounds(piece)
    most = max(box.right - box.left, box.top - box.bottom)
    mm = most / (WIDE_PX - 2 * MARGIN_PX)
    pad, size = MARGIN_PX * mm, run_length(segments)
    rows = [f'<path d="{path_data(segments, closed=True)}" stroke-width="{2 * mm:.3f}"/>']
    for number, (index, t) in enumerate(run_places(segments, [size * n / PLACES for n in range(PLACES)])):
        spot = point_at(segments[index], t)
        away = add(spot, scaled(across(tangent(segments[index], t)), -LETTERS_PX * mm))
        rows.append(
            f'<circle cx="{spot.x:.2f}" cy="{-spot.y:.2f}" r="{2.5 * mm:.2f}"/><text x="{away.x:.2f}" '
            f'y="{-away.y + 0.36 * LETTERS_PX * mm:.2f}" font-size="{LETTERS_PX * mm:.2f}">{number + 1}</text>'
        )
    frame = (box.left - pad, -box.top - pad, box.right - box.left + 2 * pad, box.top - box.bottom + 2 * pad)
    view = " ".join(f"{one:.2f}" for one in frame)
    return Markup(
        f'<svg class="numbered" role="img" aria-label="The outline, with {PLACES} places numbered round it" '
        f'viewBox="{view}">{"".join(rows)}</svg>'
    )


def corners_said(piece: Piece, shares: Sequence[str]) -> list[list[float]]:
    """The four places that are said, each as a share of the way round the outline, as a label has them.

    Raises:
        FitError: when they are not four places apart.
    """
    told = [float(one) for one in shares if _is_share(one)]
    if len(told) < len(CORNERS) or len({round(one, 3) for one in told}) < len(CORNERS):
        do = "Tap all four on the drawing, or pick the numbers nearest to them."
        raise FitError.of("", "A piece has four corners, each at a place of its own.", do, code="not-four")
    segments = outline_segments(piece)
    return [[*corner_at(segments, one)] for one in told]


def _is_share(text: str) -> bool:
    return text.replace(".", "", 1).isdecimal() and text.isascii() and len(text) < 20 and float(text) < 1.0


def corner_at(segments: Sequence[Segment], share: float) -> Point:
    """The place so far round the outline, or the corner near it where the line turns most."""
    size = run_length(segments)
    reach, at = size * TURN_REACH_RATIO, size * share
    tried = [at + reach * (2.0 * n / (TRIED - 1) - 1.0) for n in range(TRIED)]
    tried.sort(key=lambda mm: abs(mm - at))
    turns = [_turn_deg(segments, mm % size, reach / 4.0) for mm in tried]
    most = max(range(TRIED), key=lambda n: turns[n])
    return run_point_at(segments, tried[most] % size if turns[most] > BEND_DEG + turns[0] else at)


def _turn_deg(segments: Sequence[Segment], mm: float, reach_mm: float) -> float:
    """How far the line turns about a place."""
    size = run_length(segments)
    (m, s), (n, t) = (run_place(segments, far % size) for far in (mm - reach_mm, mm + reach_mm))
    return corner_deg(tangent(segments[m], s), tangent(segments[n], t))


def corners_scaled(labels: Mapping[str, Any], ratio: float) -> None:
    """Carry the corners that are told along with the drawing's scale."""
    _carried(labels, lambda x, y: [x * ratio, y * ratio])


def corners_turned(labels: Mapping[str, Any]) -> None:
    """Carry the corners that are told along with a drawing that is turned over."""
    _carried(labels, lambda x, y: [-x, y])


def _carried(labels: Mapping[str, Any], move: Callable[[float, float], list[float]]) -> None:
    pieces: Iterable[dict[str, Any]] = labels.get("pieces", {}).values()
    for said in pieces:
        if said.get("corners"):
            said["corners"] = [move(*spot) for spot in said["corners"]]
