"""What an operation says it worked on, held against the outlines it was given and made."""

from __future__ import annotations

import math

import pytest
from cut_paper import INCH, alone, only, polygon, sheet
from shapely import LineString, Polygon

from diagnose.pattern.altered import (
    Altered,
    EdgeParts,
    EndSet,
    PaperOpened,
    PartMoved,
    RunRedrawn,
    SlitOpened,
    StripFolded,
    WedgeClosed,
)
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.geometry.bezier import flatten
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.geometry.runs import run_length, run_point_at
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern, Point


def _line(run) -> LineString:  # type: ignore[no-untyped-def]
    return LineString([p for segment in run for p in flatten(segment, 0.01)])


def done(pattern: Pattern, *raw: dict[str, object]) -> Altered:
    return do(pattern, parse_operations(list(raw)), whole=False)


def of(made: Altered, kind: type) -> list:  # type: ignore[type-arg]
    return [zone for zone in made.zones if isinstance(zone, kind)]


FOLD = {"op": "fold", "piece": "sheet", "from": [150, -5], "to": [150, 405], "move": "left"}


def test_a_fold_gives_the_strip_that_fell_away_and_the_part_that_moved() -> None:
    before = alone(sheet())
    made = done(before, {**FOLD, "amount_from": INCH, "amount_to": INCH / 2})
    (strip,) = of(made, StripFolded)
    lost = polygon(only(before)).area - polygon(only(made.pattern)).area
    assert Polygon(strip.ring).area == pytest.approx(lost, rel=0.01)
    assert strip.widths == pytest.approx((INCH - INCH / 2 * 5 / 410, INCH / 2 + INCH / 2 * 5 / 410))
    (part,) = of(made, PartMoved)
    assert {name for name, _ in part.runs} == {"hem", "neck", "front"}
    for p, q in zip(strip.moving, strip.still, strict=True):
        assert distance(part.move(p), q) == pytest.approx(0.0, abs=0.05)


def test_a_spread_gives_the_new_paper_where_it_lies_now() -> None:
    before = alone(sheet())
    made = done(before, {**FOLD, "amount_from": -INCH, "amount_to": -INCH / 2})
    (opened,) = of(made, PaperOpened)
    assert not of(made, StripFolded)
    now = polygon(only(made.pattern))
    assert now.buffer(0.5).contains(Polygon(opened.ring))
    assert Polygon(opened.ring).area == pytest.approx(now.area - polygon(only(before)).area, rel=0.01)


def test_a_fold_that_turns_into_a_spread_gives_both() -> None:
    made = done(alone(sheet()), {**FOLD, "amount_from": INCH, "amount_to": -INCH})
    (strip,), (opened,) = of(made, StripFolded), of(made, PaperOpened)
    assert strip.line[1] == opened.cut[0]
    assert strip.widths[1] == opened.widths[0] == 0.0


def test_a_dart_gives_its_wedge_and_the_opening_of_its_slash() -> None:
    before = alone(sheet())
    dart = {"op": "dart", "piece": "sheet", "mouth": [150, 400], "width": 30, "point": [150, 250], "relief": [300, 250]}
    made = done(before, dart)
    (wedge,), (opened,) = of(made, WedgeClosed), of(made, PaperOpened)
    angle = 2.0 * math.asin(30.0 / 300.0)
    assert opened.widths == pytest.approx((0.0, 2.0 * 150.0 * math.sin(angle / 2.0)))
    gained = polygon(only(made.pattern)).area - polygon(only(before)).area
    trued = sum(one.by_mm * one.reach_mm for one in made.trued)
    assert gained == pytest.approx(Polygon(opened.ring).area - Polygon(wedge.ring).area, abs=trued + 1.0)
    (part,) = of(made, PartMoved)
    # The legs have one length from the point; where they meet a straight edge they differ by a little.
    assert distance(part.move(wedge.moving), wedge.still) < 0.5


def test_edge_parts_lie_where_their_paper_lies_now(six_panel: Pattern) -> None:
    made = done(six_panel, {"op": "length", "at": {"station": "waist", "offset": 60}, "amount": 12.7})
    parts = of(made, EdgeParts)
    assert {part.piece for part in parts} == {piece.name for piece in six_panel.pieces}
    for part in parts:
        edge = made.pattern.piece(part.piece).edge(part.edge)
        for run in part.runs:
            far = run[0].start if run is part.runs[0] else run[-1].end
            assert _line(edge.segments).distance(LineString([far, (far.x + 1e-9, far.y)])) < 1.6


def test_a_stretch_redrawn_lies_on_its_edge_where_it_says(six_panel: Pattern) -> None:
    piece = six_panel.pieces[2].name
    move = {
        "op": "move-edge",
        "piece": piece,
        "edge": "back-seam",
        "by": [{"at": "top", "mm": 6.0}, {"at": "waist", "mm": 0}],
    }
    made = done(six_panel, move)
    (moved,) = (zone for zone in of(made, RunRedrawn) if zone.why == "moved")
    assert moved.by_mm == pytest.approx(6.0, abs=0.2)
    edge = made.pattern.piece(piece).edge("back-seam")
    assert distance(run_point_at(edge.segments, moved.start_mm), moved.new[0].start) < 0.01
    assert distance(run_point_at(edge.segments, moved.end_mm), moved.new[-1].end) < 0.01
    ends = of(made, EndSet)
    assert "top-edge" in {end.edge for end in ends}
    for end in ends:
        now, was = (run_length(one.piece(piece).edge(end.edge).segments) for one in (made.pattern, six_panel))
        assert end.by_mm == pytest.approx(now - was, abs=0.2)


def test_only_the_stretch_between_the_ends_of_a_rise_is_redrawn() -> None:
    rise = {
        "op": "reshape-edge", "piece": "sheet", "edge": "neck", "from": [250, 400], "peak": [150, 400],
        "to": [50, 400], "height": 10, "direction": "up",
    }  # fmt: skip
    made = done(alone(sheet()), rise)
    (zone,) = of(made, RunRedrawn)
    assert (zone.why, zone.edge) == ("reshaped", "neck")
    assert (zone.old[0].start, zone.old[-1].end) == (Point(250, 400), Point(50, 400))
    assert (zone.start_mm, zone.by_mm) == (pytest.approx(50.0), pytest.approx(10.0))
    assert (zone.new[0].start, zone.new[-1].end) == (Point(250, 400), Point(50, 400))


def test_a_gore_gives_the_slit_it_is_let_into() -> None:
    made = done(
        alone(sheet()), {"op": "insert-gore", "piece": "sheet", "slit_foot": [80, 0], "tip": [80, 60], "width": 30}
    )
    (slit,) = of(made, SlitOpened)
    assert (slit.slit, slit.gore, slit.width) == ("s1", "gore-1", 30.0)


@pytest.fixture
def six_panel() -> Pattern:
    from pathlib import Path

    from msgspec.json import decode

    return read_pattern(decode(Path("cases/patterns/six-panel-corset.json").read_bytes()))
