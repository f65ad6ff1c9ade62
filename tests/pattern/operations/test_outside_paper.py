"""Operations that draw on the paper, measured from outside by shapely, at every scale a pattern may come in."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import LineString, Polygon, affinity
from shapely import Point as Spot

from diagnose.errors import FitError
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.bezier import moved, outline_points
from diagnose.pattern.geometry.plane import Affine
from diagnose.pattern.measure import garment_girth, station_width
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Channel, Edge, Line, Pattern, Piece, Point, Slit

Raw = dict[str, Any]
CHORD_MM = 0.002
few = settings(max_examples=25, deadline=None)
scales = st.sampled_from([0.05, 0.3, 1.0, 4.0, 8.0])


def panel(scale: float = 1.0) -> Pattern:
    """An upright oblong of 200 by 300 mm times the scale: a slit, a channel, a strap's mark, a waist and a hip."""
    a, b, c, d = (Point(x * scale, y * scale) for x, y in ((0, 0), (200, 0), (200, 300), (0, 300)))
    edges = (
        Edge("hem", "bottom", (Line(a, b),)), Edge("back", "seam", (Line(b, c),)), Edge("neck", "top", (Line(c, d),)),
        Edge("front", "seam", (Line(d, a),)),
    )  # fmt: skip
    at = {"waist": 150.0 * scale, "hip": 60.0 * scale}
    piece = Piece(
        "panel", "pair", "both", edges, {name: (Point(0.0, y), Point(b.x, y)) for name, y in at.items()},
        landmarks={"strap-front": Point(80.0 * scale, c.y)},
        channels=(Channel("c1", (Point(30.0 * scale, 10.0 * scale), Point(30.0 * scale, 290.0 * scale)), 6.0 * scale),),
        slits=(Slit("s1", (Point(120.0 * scale, 0.0), Point(120.0 * scale, 50.0 * scale))),),
        grain=(Point(60.0 * scale, 20.0 * scale), Point(60.0 * scale, 280.0 * scale)),
    )  # fmt: skip
    return Pattern("a panel", "back", (piece,))


def done(pattern: Pattern, **raw: Any) -> Pattern:
    """The pattern after one operation, which must be fit to be stored."""
    made = do(pattern, parse_operations({"piece": "panel", **raw})).pattern
    read_pattern(to_json(made))
    return made


def shape(piece: Piece) -> Polygon:
    return Polygon(outline_points(piece, CHORD_MM))


@few
@given(scales.filter(lambda scale: scale > 0.1), st.floats(5.0, 60.0))
def test_gore_oracle_shapely_finds_a_sector_of_the_slit_s_radius(scale: float, width: float) -> None:
    slit = panel(scale).piece("panel").slits[0]
    made = done(panel(scale), op="insert-gore", slit_foot=slit.line[0], tip=slit.line[-1], width=width * scale)
    radius = 50.0 * scale
    angle = 2.0 * math.asin(width * scale / (2.0 * radius))
    gore = shape(made.piece("gore-1"))
    assert gore.area == pytest.approx(radius * radius * angle / 2.0, rel=1e-3)
    assert gore.hausdorff_distance(affinity.scale(gore, xfact=-1.0, origin=slit.line[0])) <= 1e-6 * scale + CHORD_MM
    assert shape(made.piece("panel")).equals(shape(panel(scale).piece("panel")))


@few
@given(scales, st.floats(-20.0, 40.0))
def test_longer_tabs_oracle_shapely_finds_the_strip_added_at_the_hem(scale: float, by: float) -> None:
    assume(abs(by) > 0.5)
    old, new = (
        shape(panel(scale).piece("panel")),
        shape(done(panel(scale), op="tabs", lengthen=by * scale).piece("panel")),
    )
    strip = new.difference(old) if by > 0.0 else old.difference(new)
    assert strip.area == pytest.approx(abs(by) * 200.0 * scale * scale, rel=1e-9)
    assert new.bounds[1] == pytest.approx(-by * scale, abs=1e-9 * scale)


@few
@given(scales, st.floats(10.0, 110.0), st.floats(10.0, 120.0))
def test_new_slit_oracle_shapely_finds_it_square_to_the_hem_and_as_deep_as_asked(
    scale: float, along: float, depth: float
) -> None:
    assume(abs(along - 30.0) > 4.0)
    made = done(panel(scale), op="tabs", add=[{"along": along * scale, "depth": depth * scale}]).piece("panel")
    line = LineString(made.slits[-1].line)
    hem = LineString([(0.0, 0.0), (200.0 * scale, 0.0)])
    assert line.length == pytest.approx(depth * scale)
    assert hem.distance(Spot(line.coords[0])) <= 1e-9 * scale
    assert hem.distance(Spot(line.coords[-1])) == pytest.approx(depth * scale)
    assert shape(made).covers(line)


@few
@given(scales, st.floats(-70.0, 100.0))
def test_strap_oracle_shapely_finds_its_mark_so_far_along_the_neck(scale: float, by: float) -> None:
    assume(abs(by) > 0.1)
    made = done(panel(scale), op="strap", end="front", move=by * scale).piece("panel")
    neck = LineString([(0.0, 300.0 * scale), (200.0 * scale, 300.0 * scale)])
    spot = Spot(made.landmarks["strap-front"])
    assert neck.distance(spot) <= 1e-9 * scale
    assert neck.project(spot) == pytest.approx((80.0 + by) * scale)


@few
@given(scales, st.floats(-15.0, 30.0))
def test_moved_channel_oracle_shapely_translates_the_same_line(scale: float, out: float) -> None:
    by = [out * scale, 0.0]
    made = done(panel(scale), op="channels", move=[{"name": "c1", "by": by}]).piece("panel")
    old, new = (LineString(piece.channels[0].line) for piece in (panel(scale).piece("panel"), made))
    assert new.hausdorff_distance(affinity.translate(old, *by)) <= 1e-9 * scale
    assert shape(made).covers(new)


@few
@given(scales, st.floats(-25.0, 25.0), st.floats(-25.0, 25.0))
def test_moved_level_oracle_shapely_cuts_the_same_width(scale: float, front: float, back: float) -> None:
    raw = {"station": "waist", "front": front * scale, "back": back * scale}
    made = done(panel(scale), op="marks", levels=[raw]).piece("panel")
    inside = shape(made).intersection(LineString(made.levels["waist"])).length
    assert station_width(made, "waist") == pytest.approx(inside, rel=1e-9)
    assert inside == pytest.approx(math.hypot(200.0 * scale, (back - front) * scale), rel=1e-6)


@few
@given(scales, st.floats(-80.0, 80.0))
def test_a_parted_pair_is_twice_the_paper_and_the_same_garment(scale: float, degrees: float) -> None:
    turned = Affine(math.cos(degrees), -math.sin(degrees), math.sin(degrees), math.cos(degrees))
    whole = panel(scale)
    made = done(whole, op="split-sides")
    assert [(piece.side, piece.cut) for piece in made.pieces] == [("left", "single"), ("right", "single")]
    sheet = shape(whole.piece("panel"))
    for piece in made.pieces:
        laid = replace(piece, edges=tuple(
            replace(edge, segments=tuple(moved(one, turned) for one in edge.segments)) for edge in piece.edges
        ))  # fmt: skip
        assert shape(laid).area == pytest.approx(sheet.area, rel=1e-9)
        assert shape(piece).equals(sheet)
    assert [garment_girth(made, s) for s in ("waist", "hip")] == [garment_girth(whole, s) for s in ("waist", "hip")]


AWKWARD: dict[str, Raw] = {
    "a gore as wide as its slit allows": {
        "op": "insert-gore", "slit_foot": [120, 0], "tip": [120, 50], "width": 99.999,
    },
    "a gore of next to nothing": {"op": "insert-gore", "slit_foot": [120, 0], "tip": [120, 50], "width": 0.5},
    "a slit a hair from the corner": {"op": "tabs", "add": [{"along": 0.2, "depth": 20}]},
    "a slit nearly through": {"op": "tabs", "add": [{"along": 160, "depth": 299.5}]},
    "a strap moved past the end of the neck": {"op": "strap", "end": "front", "move": 500},
    "a level tipped nearly into the corner": {
        "op": "marks", "levels": [{"station": "hip", "front": -59.5, "back": 200}],
    },
    "a fold through both front corners": {
        "op": "fold", "from": [0, 0], "to": [0, 300], "move": "right", "amount_from": 4, "amount_to": 4,
    },
    "a spread from corner to corner": {
        "op": "fold", "from": [0, 0], "to": [200, 300], "move": "left", "amount_from": -5, "amount_to": -5,
    },
    "a dart into the corner": {
        "op": "dart", "mouth": [199.99, 300], "width": 8, "point": [100, 100], "relief": [0, 90],
    },
    "an edge moved by less than a hair": {"op": "move-edge", "edge": "back", "by": [{"along": 0, "mm": 1e-5}]},
    "a line that grazes the neck": {
        "op": "fold", "from": [-10, 299.999], "to": [210, 300.001], "move": "left", "amount_from": 2, "amount_to": 2,
    },
}  # fmt: skip


def at_scale(value: Any, scale: float) -> Any:
    """Every number in it is a length (or nothing)."""
    if isinstance(value, dict):
        return {name: at_scale(item, scale) for name, item in value.items()}
    if isinstance(value, list):
        return [at_scale(item, scale) for item in value]
    return value * scale if isinstance(value, int | float) else value


@pytest.mark.parametrize("what", AWKWARD)
@pytest.mark.parametrize("scale", [0.05, 1.0, 8.0])
def test_the_awkward_is_done_soundly_or_refused_in_words(what: str, scale: float) -> None:
    said: list[str] = []
    try:
        made = done(panel(scale), **at_scale(AWKWARD[what], scale))
    except FitError as error:
        made, said = panel(scale), [mistake.what for mistake in error.mistakes]
    assert all(shape(piece).is_valid for piece in made.pieces)
    assert said or made != panel(scale)
    assert all(re.fullmatch(r"[A-Z'].*[.]", words) for words in said), said
