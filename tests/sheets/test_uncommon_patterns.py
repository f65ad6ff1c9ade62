"""What the sheets make of patterns out of the common: no grain, no straps' edges, marks that miss, nothing allowed."""

from __future__ import annotations

import io
from itertools import pairwise
from typing import Any

import ezdxf
import pytest
import shapely
from msgspec.structs import replace
from plain_pieces import channel, four_sided, oblong, one
from plain_pieces import settings as bundled
from pypdf import PdfReader

from diagnose.errors import FitError
from diagnose.model.tryon import Seen
from diagnose.pattern import operations
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Channel, Edge, Line, Notch, Pattern, Piece, Point, Role
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.cutting.allowance import cutting_line
from diagnose.sheets.cutting.bones_kept import Bone, BoneChange, bone_changes, reused
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.cutting.cutting_list import cutting_list
from diagnose.sheets.drawn.differences import line_moves
from diagnose.sheets.drawn.drawing import Path, Text
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.hand.by_hand import steps_for
from diagnose.sheets.hand.figures import HandStep, Ruled
from diagnose.sheets.handbook import make_handbook
from diagnose.sheets.words.wording import seen_words
from diagnose.sheets.writers.dxf import pattern_dxf
from diagnose.sheets.writers.pdf import pattern_pdf

ACROSS = {"waist": 100.0, "underbust": 140.0, "hip": 60.0}


def levelled(*stations: str, **more: Any) -> Piece:
    """An oblong 100 by 200 with these levels straight across, and no grain."""
    return oblong(levels={s: (Point(0.0, ACROSS[s]), Point(100.0, ACROSS[s])) for s in stations}, **more)


def done(pattern: Pattern, *raw: dict[str, Any]) -> tuple[tuple[HandStep, ...], Pattern]:
    parsed = operations.parse_operations(list(raw))
    after = operations.do(pattern, parsed).pattern
    return steps_for(parsed, pattern, after, "mm"), after


def shorter(station: str, amount: float) -> dict[str, Any]:
    return {"op": "length", "at": {"station": station, "offset": 0}, "amount": amount}


@pytest.mark.parametrize("stations", [("waist",), ("underbust",), ("hip",), ("waist", "hip"), ("waist", "underbust")])
@pytest.mark.parametrize("amount", [10.0, -10.0])
def test_an_upright_oblong_without_a_grain_is_made_shorter_straight_down_and_needs_no_truing(
    stations: tuple[str, ...], amount: float
) -> None:
    """Whichever part moves, it moves up or down along its own sides; a slanting move would have to be trued."""
    steps, after = done(one(levelled(*stations)), shorter(stations[-1], amount))
    box = bounds(after.pieces[0])
    assert box.top - box.bottom == pytest.approx(200.0 - amount)
    assert [step for step in steps if "true" in step.text.lower()] == []
    assert len([step for step in steps if step.figures and "level" in step.text]) == 1


def test_a_length_of_nothing_is_no_step() -> None:
    assert done(one(levelled("waist")), shorter("waist", 0.0))[0] == ()


def test_a_reshaping_finer_than_a_pencil_line_is_no_step() -> None:
    raw = {"op": "reshape-edge", "piece": "front", "edge": "top", "from": [100, 200], "peak": [50, 200],
           "to": [0, 200], "height": 0.0004, "direction": "up"}  # fmt: skip
    assert [step for step in done(one(oblong()), raw)[0] if step.figures] == []


@pytest.mark.parametrize(("cut", "seam"), [("fold", True), ("pair", False)])
def test_only_a_piece_cut_on_the_fold_is_told_to_be_seamed_there_once_its_sides_differ(cut: str, seam: bool) -> None:
    roles = ("bottom", "lacing", "top", "fold" if cut == "fold" else "seam")
    piece = four_sided((0.0, 0.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0), roles=roles, cut=cut)  # type: ignore[arg-type]
    steps, _ = done(one(piece), {"op": "split-sides", "piece": "front"})
    assert ("seam at the fold line" in steps[0].text) is seam


def test_a_channel_between_two_marks_inside_the_piece_stops_short_of_neither() -> None:
    add = {"name": "f1", "line": [[50, 60], [50, 140]], "width": 9}
    (step, *_), _ = done(one(oblong()), {"op": "channels", "piece": "front", "add": [add]})
    assert "Rule A–B. The channel is 9 mm" in step.text
    (ruled,) = (figure for figure in step.figures if isinstance(figure, Ruled))
    assert ruled.short_mm == (0.0, 0.0)


NECK: tuple[Role, ...] = ("bottom", "lacing", "seam", "top", "seam", "fold")
SLOT: tuple[Role, ...] = ("bottom", "lacing", "top", "seam", "seam", "seam", "top", "fold")


@pytest.mark.parametrize(
    ("wide", "allowed", "open_mm2"), [(30.0, 12.0, 6.0 * 60.0), (30.0, 25.0, 0.0), (10.0, 6.0, 0.0)]
)
def test_the_allowances_of_a_slot_s_two_sides_meet_where_it_is_too_narrow(
    wide: float, allowed: float, open_mm2: float
) -> None:
    """100 by 100 with a slot 60 deep: 30 less twice 12 leaves 6 mm open, all its depth; a narrower one is cut solid."""
    left, right = 50.0 - wide / 2.0, 50.0 + wide / 2.0
    corners = ((0, 0), (100, 0), (100, 100), (right, 100), (right, 40), (left, 40), (left, 100), (0, 100))
    piece = four_sided(*corners, roles=SLOT)
    ring = shapely.Polygon(cutting_line(piece, {"seam": allowed, "top": allowed}))
    assert ring.is_valid
    assert ring.area == pytest.approx(100.0 * (100.0 + allowed) - open_mm2)


@pytest.mark.parametrize(("wide", "kept"), [(10.0, True), (60.0, False)])
def test_an_edge_hollower_than_its_allowance_keeps_its_stitching_line(wide: float, kept: bool) -> None:
    """A neck cut straight down, across and up: between its sides there is no room for 12 mm along each."""
    left, right = 50.0 - wide / 2.0, 50.0 + wide / 2.0
    piece = four_sided((0, 0), (100, 0), (100, 100), (right, 100), (left, 100), (0, 100), roles=NECK)
    spots = [Point(right, 100.0), Point(right, 50.0), Point(left, 50.0), Point(left, 100.0)]
    neck = Edge("e3", "top", tuple(Line(a, b) for a, b in pairwise(spots)))
    piece = replace(piece, edges=tuple(neck if edge.name == "e3" else edge for edge in piece.edges))
    ring = shapely.Polygon(cutting_line(piece, {"top": 12.0}))
    assert ring.is_valid
    assert ring.area == pytest.approx(
        100.0 * 100.0 - wide * 50.0 + (0.0 if kept else 12.0 * (50.0 + 50.0 + wide - 24.0))
    )


def bone(name: str, length_mm: float, width_mm: float = 9.0, count: int = 2) -> Bone:
    return Bone(name, length_mm, width_mm, count)


@pytest.mark.parametrize(
    ("now", "change"),
    [
        (bone("p.a", 200.0), None),
        (bone("p.a", 210.0), BoneChange("p.a", 200.0, 210.0, "longer")),
        (bone("p.a", 190.0), BoneChange("p.a", 200.0, 190.0, "shorter")),
        (bone("p.a", 200.0, 12.0), BoneChange("p.a", 200.0, 200.0, "wider")),
        (bone("p.a", 200.0, 6.0), BoneChange("p.a", 200.0, 200.0, "narrower")),
        (bone("p-left.a", 210.0), BoneChange("p-left.a", 200.0, 210.0, "longer")),
    ],
)
def test_what_became_of_a_bone(now: Bone, change: BoneChange | None) -> None:
    assert bone_changes([bone("p.a", 200.0)], [now]) == (() if change is None else (change,))


def test_a_channel_that_came_has_a_new_bone_and_one_that_went_leaves_its_bone() -> None:
    changes = bone_changes([bone("p.a", 200.0)], [bone("p.b", 150.0)])
    assert changes == (BoneChange("p.b", None, 150.0, "new"), BoneChange("p.a", 200.0, None, "gone"))


def test_a_channel_too_short_for_a_bone_neither_keeps_nor_takes_one() -> None:
    found = reused([bone("p.a", 0.0), bone("p.b", 200.0)], [bone("p.c", 0.0), bone("p.b", 200.0)])
    assert (found.kept, found.cut_down, found.new, found.left) == (2, (), (), ())


@pytest.mark.parametrize(("mark", "wide"), [((50.0, 200.0), 100.0), ((75.0, 200.0), None), ((50.0, 150.0), None)])
def test_a_strap_is_as_wide_as_a_top_edge_only_where_its_mark_is_that_edge_s_middle(
    mark: tuple[float, float], wide: float | None
) -> None:
    settings = bundled()
    piece = oblong(landmarks={"strap-front": Point(*mark)})
    (strap,) = cutting_list(one(piece), settings).straps
    assert strap.front_mm == pytest.approx(settings.mm("strap-width") if wide is None else wide)


MISSING = {"waist": (Point(300.0, 90.0), Point(400.0, 90.0)), "hip": (Point(0.0, 50.0), Point(100.0, 50.0))}


def test_a_level_that_misses_its_piece_is_neither_named_nor_measured() -> None:
    piece = oblong(levels=MISSING)
    drawing = draw_pattern(one(piece))
    words = [mark.words for layer in drawing.layers for mark in layer.marks if isinstance(mark, Text)]
    assert ("hip" in words, "waist" in words) == (True, False)
    wider = replace(oblong(wide=110.0), levels=MISSING)
    assert [move.at for move in line_moves(piece, wider, "mm")] == ["hip"]


def test_marks_that_come_to_nothing_are_not_drawn() -> None:
    dot = Point(40.0, 50.0)
    piece = oblong(
        channels=(Channel("dot", (dot, dot), 9.0), channel("f1", 60.0, 20.0, 180.0)),
        notches=(Notch("gone", 10.0), Notch("top", 25.0)),
    )
    drawing = draw_pattern(one(piece))
    told = [mark.told for layer in drawing.layers for mark in layer.marks if isinstance(mark, Path) and mark.told]
    marks = sorted(data["mark"] for data in told if "mark" in data)
    assert marks.count("channel f1") == 1
    assert marks.count("notch") == 1
    assert "channel dot" not in marks


def test_the_dxf_leaves_out_marks_that_come_to_nothing() -> None:
    dot = Point(40.0, 50.0)
    start, end = Point(100.0, 200.0), Point(0.0, 200.0)
    top = Edge("top", "top", (Line(start, start), Line(start, end)))
    piece = oblong(grain=(dot, dot), notches=(Notch("gone", 10.0), Notch("top", 25.0)))
    piece = replace(piece, edges=tuple(top if edge.name == "top" else edge for edge in piece.edges))
    document = ezdxf.read(io.StringIO(pattern_dxf(Sheet(one(piece)))))  # type: ignore[attr-defined]
    block = next(block for block in document.blocks if not block.name.startswith("*"))
    kinds = [(entity.dxftype(), entity.dxf.layer) for entity in block]
    assert kinds.count(("LINE", "14")) == 4
    assert [(e.dxf.location.x, e.dxf.location.y) for e in block if e.dxf.layer == "4"] == [(75.0, 200.0)]
    assert "7" not in {layer for _, layer in kinds}


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_a_pdf_without_allowances_says_to_add_them() -> None:
    none = {"bottom": 0.0, "lacing": 0.0, "top": 0.0}
    said = text_of(pattern_pdf(Sheet(one(oblong()), None, none)))  # type: ignore[arg-type]
    assert "No allowances are drawn: add your own outside the line." in said


def test_a_pdf_with_an_allowance_everywhere_names_no_edge_without_one() -> None:
    roles = ("bottom", "lacing", "top", "seam")
    piece = four_sided((0.0, 0.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0), roles=roles, cut="pair")  # type: ignore[arg-type]
    said = text_of(pattern_pdf(Sheet(one(piece), None, dict.fromkeys(roles, 10.0))))  # type: ignore[arg-type]
    assert "none at" not in said
    assert "Allowances, drawn as the thin line" in said


@pytest.mark.parametrize("paper", ["a4", "one-sheet"])
def test_a_print_of_no_piece_is_refused(paper: str) -> None:
    with pytest.raises(FitError, match="There is no piece to print"):
        pattern_pdf(Sheet(Pattern("nothing", "back", ())), paper)


def test_a_sign_is_told_with_how_bad_it_is(base: RuleBase) -> None:
    plain = seen_words(base.entries, "slides-down", Seen(shown=True), "in")
    told = [seen_words(base.entries, "slides-down", Seen(shown=True, grade=grade), "in") for grade in (1, 2, 3)]
    assert told == [f"{plain}: {word}" for word in ("slight", "plain", "severe")]


@pytest.mark.parametrize("name", ["note.txt", None])
def test_a_handbook_is_not_written_over_anything_else(base: RuleBase, tmp_path: Any, name: str | None) -> None:
    """Neither into a folder that holds something else, nor in place of a file; what was there stays."""
    place = tmp_path / "book"
    kept = place / name if name else place
    kept.parent.mkdir(exist_ok=True)
    kept.write_text("mine", encoding="utf-8")
    with pytest.raises(FitError, match=r"something else|a file, not a folder"):
        make_handbook(base, place)
    assert kept.read_text(encoding="utf-8") == "mine"
    assert sorted(path.name for path in tmp_path.rglob("*")) == sorted({"book", kept.name})
