"""The lacing gap drawn to scale."""

from __future__ import annotations

import pytest

from diagnose.gap.reading import GapReading, StationGap
from diagnose.model.stations import Station
from diagnose.pattern.geometry.bezier import point_at
from diagnose.pattern.geometry.hits import line_hits
from diagnose.pattern.outline import Point
from diagnose.sheets.drawn.drawing import Drawing, Path
from diagnose.sheets.drawn.gap_picture import draw_gap

HEIGHTS: dict[Station, float] = {"top": 190.0, "underbust": 90.0, "waist": 0.0, "hip": -60.0, "bottom": -80.0}


def reading(**gaps: float) -> GapReading:
    stations = {name: StationGap(gap, 50.8, 50.8 - gap, gap == 0, gap == 0) for name, gap in gaps.items()}
    return GapReading(None, stations, False, {})  # type: ignore[arg-type]


def width_at(drawing: Drawing, layer: str, height: float) -> float:
    found = drawing.layer(layer)
    assert found is not None
    a, b = Point(-200.0, height), Point(200.0, height)
    paths = [mark for mark in found.marks if isinstance(mark, Path)]
    xs = [point_at(s, t).x for p in paths for s in p.segments for t, _ in line_hits(s, a, b)]
    return max(xs) - min(xs)


@pytest.mark.parametrize(("station", "gap"), [("top", 31.75), ("waist", 38.1), ("bottom", 69.85)])
def test_the_edges_stand_as_far_apart_as_was_read(station: Station, gap: float) -> None:
    drawing = draw_gap(reading(top=31.75, waist=38.1, bottom=69.85), HEIGHTS)
    assert width_at(drawing, "edges", HEIGHTS[station]) == pytest.approx(gap, abs=0.01)


def test_target_and_prediction_stand_at_their_own_widths() -> None:
    drawing = draw_gap(reading(top=0.0, bottom=40.0), HEIGHTS, "in", {"top": 63.5, "bottom": 38.1})
    assert width_at(drawing, "target", 0.0) == pytest.approx(50.8)
    assert width_at(drawing, "predicted", HEIGHTS["top"]) == pytest.approx(63.5)


def test_without_a_plan_there_is_no_predicted_line() -> None:
    assert draw_gap(reading(waist=30.0), HEIGHTS).layer("predicted") is None


def test_a_closed_gap_is_said_to_be_closed() -> None:
    layer = draw_gap(reading(top=0.0), HEIGHTS).layer("figures")
    assert layer is not None
    assert any("closed" in getattr(mark, "words", "") for mark in layer.marks)
