"""A pattern drawn and read back returns its outline within 0.01 mm."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from drawings import bring, draw_dxf, dxf, dxf_bytes, edges_of, off_mm

from diagnose.pattern import operations
from diagnose.pattern.brought import bring_drawing
from diagnose.pattern.measure import edge_point_at, garment_girth
from diagnose.pattern.outline import STATIONS, Pattern, Role
from diagnose.pattern.reader import load_pattern
from diagnose.sheets.dxf import pattern_dxf
from diagnose.sheets.pattern_drawing import draw_pattern
from diagnose.sheets.svg import write_svg

PATTERNS = Path(__file__).parents[3] / "cases" / "patterns"
BOTH = pytest.mark.parametrize("name", ["six-panel-corset", "boned-bodies"])


def stored(name: str) -> Pattern:
    return load_pattern(PATTERNS / f"{name}.json")


@BOTH
def test_our_svg_read_back_has_the_same_outlines_levels_and_marks(name: str) -> None:
    pattern = stored(name)
    again = bring(write_svg(draw_pattern(pattern)).encode(), f"{name}.svg")
    for piece, old in zip(again.pieces, pattern.pieces, strict=True):
        assert off_mm(piece, old) < 0.01
        assert (piece.name, piece.cut, set(piece.levels)) == (old.name, old.cut, set(old.levels))
        for station, level in old.levels.items():
            assert [tuple(p) for p in piece.level(station)] == [pytest.approx(tuple(p), abs=0.01) for p in level]
        assert {n: tuple(p) for n, p in piece.landmarks.items()} == {
            n: pytest.approx(tuple(p), abs=0.01) for n, p in old.landmarks.items()}  # fmt: skip
        places = [edge_point_at(piece.edge(notch.edge), notch.at) for notch in piece.notches]
        assert places == [pytest.approx(edge_point_at(old.edge(n.edge), n.at), abs=0.01) for n in old.notches]
        assert len(piece.slits) == len(old.slits)
        for channel, was in zip(piece.channels, old.channels, strict=True):
            assert channel.width == pytest.approx(was.width, abs=0.001)
            ends = sorted(tuple(p) for p in channel.line)
            assert ends == [pytest.approx(p, abs=0.01) for p in sorted(tuple(p) for p in was.line)]
    for station in STATIONS:
        assert garment_girth(again, station) == pytest.approx(garment_girth(pattern, station), abs=0.05)


def test_our_svg_of_the_corset_keeps_edges_roles_and_seams() -> None:
    pattern = stored("six-panel-corset")
    again = bring(write_svg(draw_pattern(pattern)).encode())
    assert [edges_of(piece) for piece in again.pieces] == [edges_of(piece) for piece in pattern.pieces]
    assert [(seam.a, seam.b) for seam in again.seams] == [(seam.a, seam.b) for seam in pattern.seams]


def one_sided() -> Pattern:
    """The corset with its back panel split into a left and a right one."""
    raw = [{"op": "split-sides", "piece": "p6"}]
    return operations.do(stored("six-panel-corset"), operations.parse_operations(raw, "do", "in")).pattern


@pytest.mark.parametrize("name", ["six-panel-corset", "boned-bodies", "one-sided"])
def test_our_dxf_read_back_is_the_same_pattern(name: str) -> None:
    pattern = one_sided() if name == "one-sided" else stored(name)
    allowances: dict[Role, float] = {"seam": 12.7, "lacing": 25.4, "opening": 12.7}
    again = bring(pattern_dxf(pattern, allowances=allowances).encode(), f"{name}.dxf")
    assert {(seam.a, seam.b) for seam in again.seams} == {(seam.a, seam.b) for seam in pattern.seams}
    for piece, old in zip(again.pieces, pattern.pieces, strict=True):
        assert off_mm(piece, old) < 1e-6
        assert edges_of(piece) == edges_of(old)
        assert (piece.name, piece.cut, piece.side) == (old.name, old.cut, old.side)
        assert (piece.levels, piece.channels, piece.slits) == (old.levels, old.channels, old.slits)
        assert (piece.landmarks, piece.grain) == (old.landmarks, old.grain)
        assert [n.edge for n in piece.notches] == [n.edge for n in old.notches]
        assert [n.at for n in piece.notches] == [pytest.approx(n.at, abs=0.001) for n in old.notches]


@BOTH
@pytest.mark.parametrize(("unit", "per_mm"), [(4, 1.0), (1, 1 / 25.4), (5, 0.1)])
def test_a_dxf_of_lines_and_splines_in_any_order_has_the_same_outlines(name: str, unit: int, per_mm: float) -> None:
    pattern = stored(name)
    document = dxf(unit)
    draw_dxf(document, pattern.pieces, per_mm)
    data = dxf_bytes(document)
    again = bring(data, "x.dxf") if name != "boned-bodies" else bring_levelled(data)
    assert all(off_mm(a, b) < 0.01 for a, b in zip(again.pieces, pattern.pieces, strict=True))


def bring_levelled(data: bytes) -> Pattern:
    """The one-piece bodies slope, so that their waist can't be presumed: it is told."""
    from diagnose.pattern.brought.labels import Labels

    return bring_drawing(data, "x.dxf", "in", Labels(levels={"waist": 150.0})).pattern


def test_segments_drawn_in_a_shuffled_order_and_turned_round_close_to_the_same_outlines() -> None:
    from diagnose.pattern.curves import reverse

    pattern = stored("six-panel-corset")
    chance = random.Random(7)
    document = dxf()
    loose = [(piece, s if chance.random() < 0.5 else reverse(s)) for piece in pattern.pieces
             for edge in piece.edges for s in edge.segments]  # fmt: skip
    chance.shuffle(loose)
    for piece, segment in loose:
        draw_dxf(document, [replace(piece, edges=(replace(piece.edges[0], segments=(segment,)),))])
    again = bring(dxf_bytes(document), "x.dxf")
    assert all(off_mm(a, b) < 0.01 for a, b in zip(again.pieces, pattern.pieces, strict=True))
    assert len(again.seams) == 5


@pytest.mark.parametrize("name", ["corset-drawing.svg", "corset-drawing.dxf"])
def test_the_bundled_drawings_are_the_bundled_corset(name: str) -> None:
    pattern = stored("six-panel-corset")
    again = bring((PATTERNS / name).read_bytes(), name)
    assert len(again.seams) == 5
    assert garment_girth(again, "waist") == pytest.approx(garment_girth(pattern, "waist"), abs=0.2)
    for piece, old in zip(again.pieces, pattern.pieces, strict=True):
        move = old.edges[0].start
        here = piece.edges[0].start
        assert off_mm(piece, old, type(move)(here.x - move.x, here.y - move.y)) < 0.01
