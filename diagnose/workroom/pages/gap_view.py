"""The picture of the gap: the two lacing edges as read so far, against the target. Drawn anew by the page as she moves
the slider."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from markupsafe import Markup
from msgspec import Struct

from diagnose.errors import FitError
from diagnose.gap.reading import read_gap, usual_targets
from diagnose.interview import Interview, Question, Walk
from diagnose.interview.opening import STATION_NAMES
from diagnose.model.stations import STATIONS, Station
from diagnose.model.tryon_reading import read_tryon
from diagnose.sheets.words.gap_text import gap_words
from diagnose.sheets.words.wording import in_first_unit
from diagnose.units import INCH_MM, Unit, read_length

__all__ = ["GapView", "Row", "gap_view", "small_gap"]

HEIGHTS: dict[Station, int] = {"top": 34, "underbust": 78, "waist": 122, "hip": 160, "bottom": 200}
MIDDLE, PX_A_MM, HALF_MOST = 170.0, 0.9, 64.0
MOST_SHOWN_MM = 4 * INCH_MM
SLIDER_STEP_MM: dict[Unit, float] = {"in": INCH_MM / 16, "cm": 1.0, "mm": 1.0}


class Row(Struct, frozen=True):
    """One station.

    Attributes:
        station: which; name: as it is called; y: its height in the picture.
        gap_mm: as read; None when not yet. said: in words.
        half: half the gap in the picture; target_half: half of what is aimed at.
        here: it is the one that is asked.
    """

    station: Station
    name: str
    y: int
    gap_mm: float | None
    said: str
    half: float | None
    target_half: float
    here: bool


class GapView(Struct, frozen=True):
    """The picture: its rows top to bottom, and the slider's step in mm; of every one the middle, scale and widest half,
    and the slider's end in mm.

    `front` shows her from the front; `shared` where she laces there and at the back, so that each has half of what is
    aimed at.
    """

    rows: tuple[Row, ...]
    front: bool
    shared: bool
    step_mm: float
    middle: ClassVar[float] = MIDDLE
    px_a_mm: ClassVar[float] = PX_A_MM
    half_most: ClassVar[float] = HALF_MOST
    most_mm: ClassVar[float] = MOST_SHOWN_MM

    def line(self, side: int, target: bool = False) -> str:
        """The points of one lacing edge (side -1 left, 1 right), as read or as aimed at."""
        halves = [(row.target_half if target else row.half, row.y) for row in self.rows]
        return _points(side, [(half, y) for half, y in halves if half is not None])


def half_of(gap_mm: float) -> float:
    """Half a gap in the picture; what is wider than the picture ends at its side."""
    return min(gap_mm / 2 * PX_A_MM, HALF_MOST)


def gap_view(question: Question, walk: Walk, interview: Interview, unit: Unit) -> GapView:
    """The picture for the station that is asked."""
    kind = question.id.partition(".")[0]
    closure = {**interview.known.garment, **walk.answers.get("garment", {})}.get("closure")
    shared = closure == "both"
    read = {
        q.station: read_length(value, "gap", unit)
        for q, value in walk.answered
        if q.station is not None and q.id.startswith(f"{kind}.") and isinstance(value, str)
    }
    aimed = _targets(walk, interview)
    rows = tuple(
        Row(
            station=name, name=STATION_NAMES[name], y=HEIGHTS[name], gap_mm=read.get(name),
            said=_short(read[name], unit) if name in read else "",
            half=half_of(read[name]) if name in read else None,
            target_half=half_of(aimed[name] / (2 if shared else 1)), here=name == question.station,
        )
        for name in interview.known.stations
    )  # fmt: skip
    return GapView(
        rows=rows, front="front" in (closure, kind), shared=shared, step_mm=SLIDER_STEP_MM[unit],
    )  # fmt: skip


def _short(gap_mm: float, unit: Unit) -> str:
    return in_first_unit(gap_words(gap_mm, unit))


def _targets(walk: Walk, interview: Interview) -> dict[Station, float]:
    """The target at every station, by the reading of a gap that is 0 everywhere."""
    target = walk.answers.get("target", interview.known.target)
    raw = {"id": "t", "target": target, "gap": dict.fromkeys(STATIONS, 0), "garment": dict(interview.known.garment)}
    try:
        tryon = read_tryon(raw, interview.base.vocabulary, interview.known.unit)
    except FitError:
        return usual_targets(interview.base.settings)
    return {name: station.target_mm for name, station in read_gap(tryon, interview.base.settings).stations.items()}


def small_gap(
    read_mm: Mapping[Station, float],
    target_mm: Mapping[Station, float],
    foreseen_mm: Mapping[Station, float] | None = None,
    *,
    unit: Unit,
) -> Markup:
    """The two lacing edges as a small picture: as read, dashed as aimed at, dotted as foreseen."""
    lines = [("target", target_mm), ("foreseen", foreseen_mm or {}), ("edge", read_mm)]
    drawn = [
        f'<polyline class="{kind}" points="{_points(side, _halves(widths))}"/>'
        for kind, widths in lines for side in (-1, 1) if len(widths) > 1
    ]  # fmt: skip
    said = ", ".join(f"{name} {_short(mm, unit)}" for name, mm in read_mm.items())
    if foreseen_mm:
        said += "; foreseen: " + ", ".join(f"{name} {_short(mm, unit)}" for name, mm in foreseen_mm.items())
    return Markup(
        f'<svg class="small-gap" role="img" aria-label="The gap as read: {said or "not read"}" '
        f'viewBox="{MIDDLE - 80:g} 20 160 194"><line class="spine" x1="{MIDDLE}" y1="24" x2="{MIDDLE}" y2="210"/>'
        f"{''.join(drawn)}</svg>"
    )


def _halves(widths: Mapping[Station, float]) -> list[tuple[float, int]]:
    """Half of each gap in the picture, and its height there."""
    return [(half_of(max(0.0, widths[name])), HEIGHTS[name]) for name in STATIONS if name in widths]


def _points(side: int, halves: Sequence[tuple[float, int]]) -> str:
    """The points of one lacing edge (side -1 left, 1 right)."""
    return " ".join(f"{MIDDLE + side * half:.1f},{y}" for half, y in halves)
