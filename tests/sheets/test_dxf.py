"""The DXF read back by ezdxf, looked over by its auditor, and brought back in by our own reader."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf.path import make_path
from msgspec.structs import replace
from plain_pieces import oblong, one
from plain_pieces import settings as bundled

from diagnose.pattern.brought import bring
from diagnose.pattern.geometry.bezier import outline_points
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Cubic, Pattern, Piece, Point
from diagnose.sheets.cutting.allowance import allowances_of, cutting_line
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.writers.dxf import pattern_dxf

ALLOWED = allowances_of(bundled())


def read(text: str) -> Any:
    return ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]


def written(pattern: Pattern, before: Pattern | None = None) -> Any:
    return read(pattern_dxf(Sheet(pattern, before, ALLOWED)))


def narrowed(corset: Pattern) -> Pattern:
    taken = {"op": "move-edge", "piece": "p5", "edge": "back-seam", "by": [{"at": "waist", "mm": 6}]}
    return do(corset, parse_operations([taken])).pattern


def split(corset: Pattern) -> Pattern:
    return do(corset, parse_operations([{"op": "split-sides", "piece": "p5"}])).pattern


def every_entity(document: Any) -> list[Any]:
    blocks = [block for block in document.blocks if not block.name.startswith("*")]
    return [entity for layout in (document.modelspace(), *blocks) for entity in layout]


@pytest.mark.parametrize("name", ["bodies", "corset"])
def test_the_auditor_finds_nothing(name: str, request: pytest.FixtureRequest) -> None:
    pattern = request.getfixturevalue(name)
    audit = written(pattern, pattern).audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_the_auditor_finds_nothing_with_a_change_drawn(corset: Pattern) -> None:
    document = written(narrowed(corset), corset)
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    layers = {entity.dxf.layer for entity in document.blocks["p5"]}
    assert {"old-line", "taken-away", "dimensions"} <= layers


def test_no_entity_is_without_length_or_not_a_number(corset: Pattern, bodies: Pattern) -> None:
    """The auditor lets both pass."""
    for document in (written(narrowed(corset), corset), written(bodies)):
        for entity in every_entity(document):
            if entity.dxftype() in ("LINE", "LWPOLYLINE", "SPLINE"):
                path = make_path(entity)
                points = list(path.flattening(1.0))
                assert all(math.isfinite(c) for p in points for c in p)
                assert sum(a.distance(b) for a, b in pairwise(points)) > 1e-6


def test_units_are_millimetres_and_each_piece_is_a_block_of_its_name(corset: Pattern) -> None:
    document = written(corset)
    assert document.header["$INSUNITS"] == 4
    assert [insert.dxf.name for insert in document.modelspace().query("INSERT")] == [p.name for p in corset.pieces]


def test_only_the_layers_of_the_convention_are_used_where_nothing_changed(bodies: Pattern) -> None:
    """Layer numbers of ASTM D6673, from memory."""
    used = {entity.dxf.layer for entity in every_entity(written(bodies))}
    assert used == {"1", "4", "7", "8", "13", "14", "15"}


def test_curves_of_the_stitching_line_keep_their_control_points(corset: Pattern) -> None:
    document = written(corset)
    for piece in corset.pieces:
        splines = document.blocks[piece.name].query('SPLINE[layer=="14"]')
        cubics = [s for e in piece.edges for s in e.segments if isinstance(s, Cubic)]
        for spline, cubic in zip(splines, cubics, strict=True):
            ends = (cubic.start, cubic.c1, cubic.c2, cubic.end)
            for found, wanted in zip(spline.control_points, ends, strict=True):
                assert (found[0], found[1]) == pytest.approx(wanted, abs=1e-9)


def test_the_stitching_line_as_ezdxf_draws_it_lies_on_the_pattern(bodies: Pattern) -> None:
    shape = outline_points(bodies.piece("bodies"), 0.005)
    drawn = [
        Point(p.x, p.y)
        for entity in written(bodies).blocks["bodies"].query('*[layer=="14"]')
        for p in make_path(entity).flattening(0.005)
    ]
    ring, drawn_ring = shapely.LinearRing(shape), shapely.LinearRing(drawn)
    assert max(ring.distance(shapely.Point(p)) for p in drawn) < 0.05
    assert max(drawn_ring.distance(shapely.Point(p)) for p in shape) < 0.05


def test_the_boundary_is_the_cutting_line(corset: Pattern) -> None:
    document = written(corset)
    for piece in corset.pieces:
        (line,) = document.blocks[piece.name].query('LWPOLYLINE[layer=="1"]')
        ours = shapely.Polygon(cutting_line(piece, ALLOWED))
        theirs = shapely.Polygon([(x, y) for x, y, *_ in line.get_points()])
        assert line.closed
        assert ours.symmetric_difference(theirs).area / ours.length < 0.001


def no_farther_than(wanted: Piece, found: Piece, most_mm: float) -> None:
    assert [(e.name, e.role) for e in wanted.edges] == [(e.name, e.role) for e in found.edges]
    for ours, theirs in zip(wanted.edges, found.edges, strict=True):
        for a, b in zip(ours.segments, theirs.segments, strict=True):
            assert distance(a.start, b.start) < most_mm
            assert distance(a.end, b.end) < most_mm
            if isinstance(a, Cubic):
                assert isinstance(b, Cubic)
                assert max(distance(a.c1, b.c1), distance(a.c2, b.c2)) < most_mm


@pytest.mark.parametrize("name", ["bodies", "corset"])
def test_brought_back_in_it_is_the_same_pattern_within_a_hundredth(name: str, request: pytest.FixtureRequest) -> None:
    pattern = request.getfixturevalue(name)
    text = pattern_dxf(Sheet(pattern, None, ALLOWED))
    back = bring(text.encode(), "back.dxf").settled()
    for ours, theirs in zip(pattern.pieces, back.pieces, strict=True):
        assert (ours.name, ours.cut, ours.side) == (theirs.name, theirs.cut, theirs.side)
        no_farther_than(ours, theirs, 0.01)
        assert [(c.name, c.width) for c in ours.channels] == [(c.name, c.width) for c in theirs.channels]
        assert list(ours.levels) == list(theirs.levels)
        assert set(ours.landmarks) == set(theirs.landmarks)
        assert [s.name for s in ours.slits] == [s.name for s in theirs.slits]
        assert len(ours.notches) == len(theirs.notches)
        assert ours.grain is not None
        assert theirs.grain is not None


def test_a_changed_pattern_comes_back_without_its_older_line(corset: Pattern) -> None:
    altered = narrowed(corset)
    text = pattern_dxf(Sheet(altered, corset, ALLOWED))
    back = bring(text.encode(), "back.dxf").settled()
    for ours, theirs in zip(altered.pieces, back.pieces, strict=True):
        no_farther_than(ours, theirs, 0.01)


def test_the_right_one_of_a_split_pair_is_turned_over(corset: Pattern) -> None:
    document = written(split(corset))
    left, right = (
        [p for e in document.blocks[name].query('*[layer=="14"]') for p in make_path(e).flattening(0.1)]
        for name in ("p5-left", "p5-right")
    )
    assert min(p.x for p in right) == pytest.approx(-max(p.x for p in left))
    assert min(p.y for p in right) == pytest.approx(min(p.y for p in left))


def test_the_same_pattern_gives_the_same_bytes(corset: Pattern) -> None:
    first, second = (pattern_dxf(Sheet(corset, None, ALLOWED, version="version 2")) for _ in range(2))
    assert first == second
    assert "version 2" in first


def test_kinds_in_use_are_declared_in_one_order_whatever_the_run(corset: Pattern) -> None:
    document = written(corset)
    declared = [entity.dxf.name for entity in document.classes.classes.values()]
    in_use = sorted(document.entitydb.dxf_types_in_use() & set(declared))
    assert len(in_use) > 2
    assert declared[: len(in_use)] == in_use


@pytest.mark.parametrize("name", ["*Model_Space", "a<b>|c", "..", "naïve ☂", "x\ny", '"' * 9, "0\n0\nEOF"])
def test_a_name_that_no_block_may_have_makes_a_sound_file(name: str) -> None:
    text = pattern_dxf(Sheet(one(replace(oblong(), name=name)), None, ALLOWED))
    audit = read(text).audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_names_that_differ_in_their_capitals_alone_make_two_blocks() -> None:
    pieces = (replace(oblong(), name="Front"), replace(oblong(), name="front"))
    document = written(Pattern("two", "back", pieces))
    assert len(document.modelspace().query("INSERT")) == 2
    assert len({insert.dxf.name.lower() for insert in document.modelspace().query("INSERT")}) == 2
