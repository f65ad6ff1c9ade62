"""Where places lie: found by roles, seams and landmarks on any reasonable pattern."""

from __future__ import annotations

import pytest
from drawing_bench import IN, USUAL, alteration, edge_points, length, panels
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Edge, Line, Pattern, Piece, Point
from diagnose.places import bundled_cases
from diagnose.plan.drawing import draw
from diagnose.plan.drawing.board import NotDrawnError
from diagnose.plan.drawing.edge_lines import edge_line
from diagnose.plan.drawing.half import Half, halves_of
from diagnose.plan.drawing.named_places import PLACES, place_named, seams_named


@pytest.fixture(scope="module")
def bodies() -> Half:
    return halves_of(load_pattern(bundled_cases() / "patterns" / "boned-bodies.json"), "both", USUAL)[0]


@pytest.fixture(scope="module")
def corset() -> Half:
    return halves_of(load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json"), "both", USUAL)[0]


def seam_fronts(half: Half, which: str) -> list[str]:
    return [joins[0].front.piece for joins in seams_named(half, which)]


def test_pieces_stand_from_front_to_back_whatever_their_order(corset: Half) -> None:
    assert [piece.name for piece in corset.pieces] == ["p1", "p2", "p3", "p4", "p5", "p6"]
    pattern = panels(50, 60, 70)
    shuffled = replace(pattern, pieces=(pattern.pieces[2], pattern.pieces[0], pattern.pieces[1]))
    assert [piece.name for piece in halves_of(shuffled, "both", USUAL)[0].pieces] == ["panel-1", "panel-2", "panel-3"]


def test_pieces_without_seams_are_ordered_by_where_they_lie() -> None:
    pattern = replace(panels(50, 60, 70), seams=())
    half = halves_of(pattern, "both", USUAL)[0]
    assert [piece.name for piece in half.pieces] == ["panel-1", "panel-2", "panel-3"]
    assert half.seams[0][0].front == ("panel-1", "back")


def test_gores_are_no_part_of_the_order(settings: Settings) -> None:
    pattern = load_pattern(bundled_cases() / "patterns" / "boned-bodies.json")
    flare = alteration({"do": "tabs", "what": "flare"}, kind="length")
    flared = draw(length(flare, 6.0), pattern, settings).pattern
    assert flared is not None
    assert len(flared.pieces) == 5
    assert [piece.name for piece in halves_of(flared, "both", USUAL)[0].pieces] == ["bodies"]


def test_seams_are_named_by_their_place_in_the_half(corset: Half) -> None:
    assert seam_fronts(corset, "all") == ["p1", "p2", "p3", "p4", "p5"]
    assert seam_fronts(corset, "side") == ["p3"]
    assert seam_fronts(corset, "front") == ["p1", "p2"]
    assert seam_fronts(corset, "back") == ["p4", "p5"]
    assert seam_fronts(corset, "bust") == ["p1"]
    assert seam_fronts(corset, "belly") == ["p1", "p2"]


def test_with_one_seam_it_is_front_side_and_back_in_one() -> None:
    half = halves_of(panels(100, 100), "both", USUAL)[0]
    assert all(seam_fronts(half, which) == ["panel-1"] for which in ("front", "side", "back", "belly"))


@pytest.mark.parametrize(
    ("widths", "off_mm", "seam"),
    [
        ((100, 100), None, []),  # at the side
        ((60, 120), None, ["panel-1"]),  # at a third of the half
        ((100, 100), 30.0, ["panel-1"]),
        ((100, 100), 90.0, []),  # 3 1/2 in before it
        ((60, 60, 60, 60), None, ["panel-1"]),
    ],
)
def test_a_seam_at_the_side_does_not_run_over_the_bust(
    widths: tuple[float, ...], off_mm: float | None, seam: list[str]
) -> None:
    pattern = panels(*widths)
    first = pattern.pieces[0]
    if off_mm is not None:
        point = Point(first.edge("back").start.x - off_mm, 100.0)
        pattern = pattern.with_piece(replace(first, landmarks={"bust-point": point}))
    assert seam_fronts(halves_of(pattern, "both", USUAL)[0], "bust") == seam


def test_a_half_in_one_piece_has_no_seams(bodies: Half) -> None:
    assert seams_named(bodies, "all") == []


def test_the_underarm_runs_from_tab_to_tab_with_its_peak_at_the_mark(bodies: Half) -> None:
    place = place_named(bodies, "underarm")
    armhole = bodies.pieces[0].edge("armhole")
    assert place.line.point(place.start) == pytest.approx(armhole.end)
    assert place.line.point(place.end) == pytest.approx(armhole.start)
    assert place.line.point(place.peak) == pytest.approx(bodies.pieces[0].landmarks["underarm"], abs=0.01)


def test_the_underarm_is_found_without_a_name_or_a_mark(bodies: Half) -> None:
    piece = bodies.pieces[0]
    edges = tuple(replace(edge, name="x") if edge.name == "armhole" else edge for edge in piece.edges)
    marks = {name: point for name, point in piece.landmarks.items() if name != "underarm"}
    bare = replace(bodies, pieces=(replace(piece, edges=edges, landmarks=marks),))
    place, known = place_named(bare, "underarm"), place_named(bodies, "underarm")
    assert (place.start, place.end) == pytest.approx((known.start, known.end))
    assert place.peak == pytest.approx(known.peak, abs=IN)


def test_the_underarm_of_panels_lies_at_the_side(corset: Half) -> None:
    place = place_named(corset, "underarm")
    assert {one.piece for one in place.stretches} == {"p4", "p5"}
    plain = place_named(halves_of(panels(60, 60, 60), "both", USUAL)[0], "underarm")
    assert {one.piece for one in plain.stretches} == {"panel-2"}


def test_every_place_is_found_in_order_on_every_pattern(bodies: Half, corset: Half) -> None:
    plain = [halves_of(panels(*widths), "both", USUAL)[0] for widths in ((300,), (150, 150), (60, 60, 60, 60))]
    for half in (bodies, corset, *plain):
        for name in PLACES:
            place = place_named(half, name)
            marks = [0.0, place.start, place.peak_from, place.peak_to, place.end, place.line.size]
            assert marks == sorted(marks), name
            assert place.end - place.start > 20.0, name
            assert place.part_at(place.peak) == 1.0
            assert place.part_at(place.start) == float(place.start == place.peak_from)
            assert place.part_at(place.end) == float(place.end == place.peak_to)


def test_an_unknown_place_is_declined(corset: Half) -> None:
    with pytest.raises(NotDrawnError, match="No place “elbow”"):
        place_named(corset, "elbow")


def test_the_top_line_runs_from_front_to_back_over_all_pieces(corset: Half) -> None:
    line = edge_line(corset, "top")
    assert [one.piece for one in line.stretches] == ["p1", "p2", "p3", "p4", "p5", "p6"]
    assert line.point(0.0) == pytest.approx((0.0, 194.31))
    assert line.point(line.size) == pytest.approx((600.551384, 191.77))


def test_a_place_over_several_pieces_meets_itself_at_the_seams(settings: Settings) -> None:
    pattern = panels(60, 60, 60, 60)
    wing = alteration({"do": "edge", "place": "side-top", "direction": "up"}, kind="length")
    raised = draw(length(wing, 12.0), pattern, settings).pattern
    assert raised is not None
    for seam in raised.seams:
        a, b = raised.piece(seam.a.piece).edge("back"), raised.piece(seam.b.piece).edge("front")
        assert a.end.y == pytest.approx(b.start.y, abs=1e-3)
    assert max(bounds(piece).top for piece in raised.pieces) == pytest.approx(8 * IN + 12.0, abs=0.6)


@pytest.mark.parametrize(
    ("place", "direction", "sign"),
    [("front-top", "up", 1), ("front-top", "down", -1), ("back-top", "up", 1), ("underarm", "down", -1)],
)
def test_top_edges_rise_and_fall_the_way_they_are_told(
    place: str, direction: str, sign: int, settings: Settings
) -> None:
    pattern = panels(100, 100, 100)
    item = length(alteration({"do": "edge", "place": place, "direction": direction}, kind="length"), 10.0)
    drawn = draw(item, pattern, settings)
    assert drawn.pattern is not None
    tops = [_farthest_top(piece) for piece in drawn.pattern.pieces]
    assert max(sign * (y - 8 * IN) for y in tops) == pytest.approx(10.0, abs=0.7)
    assert min(sign * (y - 8 * IN) for y in tops) >= -1e-6


def _farthest_top(piece: Piece) -> float:
    return max((point.y for point in edge_points(piece.edge("top-edge"))), key=lambda y: abs(y - 8 * IN))


def test_the_front_hem_rises_most_at_centre_front(settings: Settings) -> None:
    pattern: Pattern = panels(100, 100, 100)
    item = length(alteration({"do": "edge", "place": "front-hem", "direction": "up"}, kind="length"), 10.0)
    drawn = draw(item, pattern, settings).pattern
    assert drawn is not None
    hem = drawn.piece("panel-1").edge("hem")
    assert hem.start == pytest.approx(Point(0.0, -6 * IN + 10.0), abs=0.01)
    assert hem.end.y < hem.start.y


@pytest.mark.parametrize("lean", [0.0, 0.5, 1.0])
@pytest.mark.parametrize(("direction", "sign"), [("up", 1.0), ("down", -1.0)])
def test_what_goes_up_or_down_does_so_by_the_amount_at_the_centre_however_steep_the_line_runs(
    lean: float, direction: str, sign: float, settings: Settings
) -> None:
    """A front top that falls to centre front by so much in one: its corner goes up the front edge by half an inch."""
    pattern = panels(100, 100, 100)
    first = pattern.pieces[0]
    (right, top), (left, _) = first.edge("top-edge").start, first.edge("top-edge").end
    low = Point(left, top - lean * 50.0)
    neck = (Line(Point(right, top), Point(left + 50.0, top)), Line(Point(left + 50.0, top), low))
    edges = (Edge("top-edge", "top", neck), Edge("front", "opening", (Line(low, first.edge("front").end),)))
    levels = {station: line for station, line in first.levels.items() if station != "top"}
    vee = pattern.with_piece(replace(first, edges=(*first.edges[:2], *edges), levels=levels))
    move = {"do": "edge", "place": "front-top", "direction": direction}
    drawn = draw(length(alteration(move, kind="length"), IN / 2), vee, settings)
    assert drawn.pattern is not None, drawn.notes
    assert drawn.operations, drawn.notes
    risen = drawn.pattern.pieces[0].edge("front").start.y - low.y
    assert risen == pytest.approx(sign * IN / 2, abs=0.15)
