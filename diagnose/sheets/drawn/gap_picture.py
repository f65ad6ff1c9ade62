"""The lacing gap as a picture: the back with its two lacing edges, the target beside them, the prediction dotted.

Millimetres, y upwards, to scale: the waist lies at height 0 and centre back at 0 across.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.gap.reading import GapReading
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.geometry.runs import run_length, run_points_at, smooth_through
from diagnose.pattern.outline import Cubic, Line, Point, Segment
from diagnose.sheets.drawn.drawing import Area, Drawing, Layer, Mark, Path, Pen, Text, frame_of, polyline
from diagnose.units import Unit, short

__all__ = ["draw_gap"]

HALF_BACK_MM = 120.0
ABOVE_GAP_MM = 14.0
READINGS_HIGH_MM = 21.0
STATION_NAME_MM = 30.0
EYELETS = 15
EYELET_IN_MM = 6.0
READINGS_AT_MM = 126.0
Heights = Mapping[Station, float]


def draw_gap(
    reading: GapReading,
    heights: Heights,
    unit_: Unit = "in",
    predicted: Mapping[Station, float] | None = None,
    *,
    figures: bool = True,
) -> Drawing:
    """The gap as it was read, against its target and what the plan should make of it.

    Args:
        reading: the gap by station, at least one read.
        heights: the height of each station over the waist.
        unit_: the unit of the figures.
        predicted: the gap by station that the plan should leave.
        figures: beside each station; its name alone, in larger letters, where a table says them beside the picture.
    """
    read = {name: station.gap_mm for name, station in reading.stations.items()}
    target = {name: station.target_mm for name, station in reading.stations.items()}
    top, bottom = _reach(heights)
    layers = [
        Layer("back", "The two backs", Pen(0.4, "soft"), marks=tuple(_backs(read, heights, top, bottom=bottom))),
        Layer("lace", "Lace and eyelets", Pen(0.5, "soft"), marks=tuple(_lace(read, heights, top, bottom=bottom))),
        Layer("levels", "Stations", Pen(0.4, "soft", (1.5, 2.5)), marks=tuple(_levels(reading, heights))),
        Layer("target", "Target", Pen(0.9, "ink", (5.0, 3.0)), marks=tuple(_pair(target, heights, top, bottom=bottom))),
    ]
    if predicted:
        dotted = tuple(_pair(predicted, heights, top, bottom=bottom))
        layers.append(Layer("predicted", "Predicted", Pen(1.4, "accent", (0.1, 3.2)), marks=dotted))
    layers += [
        Layer("edges", "Lacing edges", Pen(1.6), marks=tuple(_pair(read, heights, top, bottom=bottom))),
        Layer("figures", "Figures", Pen(0.01), marks=tuple((_figures if figures else _names)(reading, heights, unit_))),
    ]
    return Drawing("The lacing gap", tuple(layers), frame_of(layers, 4.0))


def _reach(heights: Heights) -> tuple[float, float]:
    """From which height to which the edges are drawn: the whole back."""
    return max(heights.values()) + ABOVE_GAP_MM, min(heights.values()) - ABOVE_GAP_MM


def _edge(gaps: Mapping[Station, float], heights: Heights, top: float, bottom: float) -> tuple[Segment, ...]:
    """The right lacing edge: half the gap at each station, straight on beyond the outermost."""
    known = [Point(gaps[name] / 2.0, heights[name]) for name in STATIONS if name in gaps]
    points = [Point(known[0].x, top), *known, Point(known[-1].x, bottom)]
    if len(known) == 1:
        return (Line(points[0], points[-1]),)
    return tuple(smooth_through(points))


def _mirrored(run: tuple[Segment, ...]) -> tuple[Segment, ...]:
    def over(p: Point) -> Point:
        return Point(-p.x, p.y)

    return tuple(
        Line(over(s.start), over(s.end))
        if isinstance(s, Line)
        else Cubic(over(s.start), over(s.c1), over(s.c2), over(s.end))
        for s in run
    )


def _pair(gaps: Mapping[Station, float], heights: Heights, top: float, bottom: float) -> Iterator[Mark]:
    run = _edge(gaps, heights, top, bottom=bottom)
    yield Path(run)
    yield Path(_mirrored(run))


def _backs(gaps: Mapping[Station, float], heights: Heights, top: float, bottom: float) -> Iterator[Mark]:
    """The cloth to both sides, and its top and bottom lines."""
    run = _edge(gaps, heights, top, bottom=bottom)
    size = run_length(run)
    spots = run_points_at(run, [size * n / 24.0 for n in range(25)])
    for way in (1.0, -1.0):
        inner = [Point(p.x * way, p.y) for p in spots]
        outer = [Point(HALF_BACK_MM * way, bottom), Point(HALF_BACK_MM * way, top)]
        yield Area(((*inner, *outer),))
        yield polyline((inner[0], outer[1]))
        yield polyline((inner[-1], outer[0]))


def _lace(gaps: Mapping[Station, float], heights: Heights, top: float, bottom: float) -> Iterator[Mark]:
    """The lace from side to side through eyelets set in from the edges."""
    run = _edge(gaps, heights, top, bottom=bottom)
    size = run_length(run)
    spots = run_points_at(run, [size * (n + 0.5) / EYELETS for n in range(EYELETS)])
    holes = [(Point(p.x + EYELET_IN_MM, p.y), Point(-p.x - EYELET_IN_MM, p.y)) for p in spots]
    yield polyline(pair[n % 2] for n, pair in enumerate(holes))
    yield polyline(pair[(n + 1) % 2] for n, pair in enumerate(holes))
    for pair in holes:
        for p in pair:
            yield polyline((Point(p.x - 1.2, p.y), Point(p.x + 1.2, p.y)))


def _levels(reading: GapReading, heights: Heights) -> Iterator[Mark]:
    for name in reading.stations:
        yield polyline((Point(-HALF_BACK_MM, heights[name]), Point(READINGS_AT_MM - 4.0, heights[name])))


def _names(reading: GapReading, heights: Heights, unit_: Unit) -> Iterator[Mark]:
    for name in reading.stations:
        yield Text(name, Point(READINGS_AT_MM, heights[name] - STATION_NAME_MM * 0.3), STATION_NAME_MM)


def _figures(reading: GapReading, heights: Heights, unit_: Unit) -> Iterator[Mark]:
    """Beside each station its name, the gap and the target."""
    for name, station in reading.stations.items():
        y = heights[name]
        read = "closed" if station.closed else short(station.gap_mm, unit_)
        yield Text(f"{name} {read}", Point(READINGS_AT_MM, y - READINGS_HIGH_MM * 0.25), READINGS_HIGH_MM, bold=True)
        yield Text(
            f"aim {short(station.target_mm, unit_)}",
            Point(READINGS_AT_MM, y - READINGS_HIGH_MM * 1.45),
            READINGS_HIGH_MM,
        )
