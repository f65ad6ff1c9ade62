"""Marks find their piece and their meaning, or are left out; what a drawing tells wrongly is no longer told."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import pytest
from drawings import BACK, FRONT, bring, down, dxf, dxf_bytes, svg

from diagnose.errors import FitError
from diagnose.pattern.brought.drawings.dxf_drawing import read_dxf
from diagnose.pattern.brought.drawings.outlines import MOST_RINGS, outlines_of
from diagnose.pattern.brought.drawings.svg_drawing import read_svg
from diagnose.pattern.brought.sketch import Dot, Kind, Sketch, Stroke, Words
from diagnose.pattern.brought.told import EdgeTold, laid_back, told_edges, told_extra
from diagnose.pattern.brought.understood.drawn_marks import with_marks
from diagnose.pattern.brought.understood.labels import read_labels
from diagnose.pattern.brought.understood.proposal import propose
from diagnose.pattern.form.drawing_data import APPLICATION
from diagnose.pattern.outline import Line, Piece, Point
from diagnose.pattern.tolerances import MOST_MARKS, MOST_PIECES
from diagnose.rulebase.reading.yamlfile import parse_yaml

XY = tuple[float, float]
OBLONG: tuple[XY, ...] = ((0, 0), (120, 0), (120, 300), (0, 300))
HOOK: tuple[XY, ...] = ((0, 0), (300, 0), (300, 60), (60, 60), (60, 300), (0, 300))
INNER: tuple[XY, ...] = ((100, 100), (250, 100), (250, 280), (100, 280))
"""A hook, and an oblong that lies in its hollow, clear of it."""


def stroke(
    *spots: XY, kind: Kind = "", piece: str = "", part: str = "", data: Mapping[str, str] | None = None,
    closed: bool = False,
) -> Stroke:  # fmt: skip
    at = [Point(*spot) for spot in (*spots, *(spots[:1] if closed else ()))]
    return Stroke(tuple(Line(a, b) for a, b in pairwise(at)), closed, kind, piece, part, data or {})


def marked(
    *marks: Stroke, dots: tuple[Dot, ...] = (), words: tuple[Words, ...] = (),
    outlines: Mapping[str, tuple[XY, ...]] | None = None,
) -> tuple[dict[str, Piece], tuple[str, ...]]:  # fmt: skip
    """The pieces with these marks, and what is said of those left out."""
    rings = [stroke(*ring, piece=name, kind="outline", closed=True)
             for name, ring in (outlines or {"front": OBLONG}).items()]  # fmt: skip
    sketch = Sketch("x.svg", (*rings, *marks), words, dots)
    made = with_marks(propose(outlines_of(sketch).outlines), sketch)
    return {one.piece.name: one.piece for one in made.pieces}, made.sentences


def front(*marks: Stroke, dots: tuple[Dot, ...] = (), words: tuple[Words, ...] = ()) -> Piece:
    return marked(*marks, dots=dots, words=words)[0]["front"]


def test_too_many_marks_are_refused() -> None:
    dots = tuple(Dot(Point(60.0, 100.0), "landmark", "front", f"l{n}") for n in range(MOST_MARKS + 1))
    assert len(front(dots=dots[:-1]).landmarks) == MOST_MARKS
    with pytest.raises(FitError, match=f"over {MOST_MARKS} marks"):
        front(dots=dots)


@pytest.mark.parametrize(
    ("spot", "home"),
    [
        ((30.0, 200.0), "hook"),  # on the hook itself
        ((150.0, 200.0), "inner"),  # in the hollow of the hook, on the other
        ((63.0, 200.0), "hook"),  # on neither, 3 mm beyond the hook's edge
        ((97.0, 200.0), "inner"),  # on neither, 3 mm before the other's edge
        ((80.0, 200.0), None),  # on neither, 20 mm from both
        ((400.0, 400.0), None),
    ],
)
def test_a_mark_without_a_name_belongs_to_the_piece_it_lies_on_or_just_beside(spot: XY, home: str | None) -> None:
    x, y = spot
    tick = stroke((x - 1, y), (x + 1, y), kind="landmark", part="here")
    pieces, said = marked(tick, outlines={"hook": HOOK, "inner": INNER})
    assert [name for name, piece in pieces.items() if "here" in piece.landmarks] == ([home] if home else [])
    assert any("1 line was left out: nothing names what it marks." in line for line in said) is (home is None)


def test_levels_without_names_are_those_of_the_words_beside_them_from_the_top_down() -> None:
    lines = [stroke((0, y), (120, y), kind="level") for y in (60.0, 200.0, 120.0)]
    words = tuple(
        Words(word, Point(130.0, y), "level") for word, y in (("hip", 62.0), ("underbust", 199.0), ("waist", 121.0))
    )
    levels = front(*lines, words=words).levels
    assert {station: line[0].y for station, line in levels.items()} == {"underbust": 200.0, "waist": 120.0, "hip": 60.0}


def test_a_level_s_own_name_stands_before_the_words_and_words_too_few_name_none() -> None:
    lines = [
        stroke((0, y), (120, y), kind="level", part=part) for y, part in ((200.0, ""), (120.0, "waist"), (60.0, ""))
    ]
    word = Words("hip", Point(130.0, 60.0), "level")
    assert list(front(*lines, words=(word,)).levels) == ["waist"]
    assert list(front(*lines[:2], words=(Words("waist", Point(0.0, 0.0), "level"),)).levels) == ["waist"]
    named = front(lines[1], lines[2], words=(word,)).levels
    assert {station: line[0].y for station, line in named.items()} == {"waist": 120.0, "hip": 60.0}


@pytest.mark.parametrize(
    "spots", [((50, 50), (60, 50), (55, 200)), ((50, 50), (60, 50), (60, 200), (55, 210), (50, 200))]
)  # fmt: skip
def test_a_channel_that_is_no_oblong_is_left_out(spots: tuple[XY, ...]) -> None:
    assert front(stroke(*spots, kind="channel", closed=True)).channels == ()


def test_a_line_without_a_width_is_no_channel() -> None:
    assert front(stroke((50, 50), (50, 200), kind="channel")).channels == ()
    (told,) = front(stroke((50, 50), (50, 200), kind="channel", data={"width": "9 mm"})).channels
    assert (told.line, told.width) == (((50.0, 50.0), (50.0, 200.0)), 9.0)


@pytest.mark.parametrize(("told", "wide"), [("10.004 mm", 10.004), ("9 mm", 10.0), ("900 mm", 10.0), ("", 10.0)])
def test_an_oblong_channel_is_as_wide_as_drawn_where_it_is_told_otherwise(told: str, wide: float) -> None:
    """A rounding apart; the middle line runs from the middle of one short side to that of the other."""
    data = {"width": told} if told else {}
    (channel,) = front(
        stroke((50, 50), (60, 50), (60, 200), (50, 200), kind="channel", closed=True, data=data)
    ).channels
    assert channel.width == wide
    assert channel.line == ((55.0, 50.0), (55.0, 200.0))


def test_a_notch_lies_on_the_edge_it_names_or_within_five_mm_of() -> None:
    ticks = [stroke((x - 1, 100), (x + 1, 100), kind="notch", piece="front") for x in (118.0, 90.0)]
    piece = front(*ticks)
    (notch,) = piece.notches
    assert piece.edge(notch.edge).start == (120.0, 0.0)
    assert notch.at == pytest.approx(100.0)


def test_a_landmark_is_called_by_itself_else_by_the_words_near_it_else_it_is_left_out() -> None:
    ticks = [stroke((x - 1, 100), (x + 1, 100), kind="landmark", part=part) for x, part in
             ((20.0, "bust-point"), (60.0, ""), (100.0, ""))]  # fmt: skip
    words = (Words("strap front", Point(64.0, 108.0), "landmark"), Words("strap back", Point(100.0, 120.0), "landmark"))
    landmarks = front(*ticks, words=words).landmarks
    assert landmarks == {"bust-point": (20.0, 100.0), "strap-front": (60.0, 100.0)}


@pytest.mark.parametrize(
    ("words", "edges"),
    [
        ("a%20b:seam:2 hem:bottom:1", (EdgeTold("a b", "seam", 2), EdgeTold("hem", "bottom", 1))),
        ("a:seam:2 hem:bottom", ()),
        ("a:seam:2 hem:skirt:1", ()),
        ("a:seam:two", ()),
        ("a:seam:0", ()),
        ("", ()),
    ],
)
def test_edges_are_told_all_or_none(words: str, edges: tuple[EdgeTold, ...]) -> None:
    assert told_edges({"edges": words}) == edges


@pytest.mark.parametrize(("lies", "x"), [("40 0", 0.0), ("40", 40.0), ("forty 0", 40.0), ("inf 0", 40.0), ("", 40.0)])
def test_a_piece_is_laid_back_by_what_it_says_it_was_moved(lies: str, x: float) -> None:
    """A word that is no number moves nothing."""
    moved = stroke((40, 0), (60, 0), piece="front", data={"lies": lies})
    (back,) = laid_back(Sketch("x.svg", (moved,))).strokes
    assert back.start == (x, 0.0)


@pytest.mark.parametrize("text", ["[1, 2]", '"word"', "3", "null", "{", "[" * 100_000])
def test_data_that_are_no_keys_add_nothing(text: str) -> None:
    assert told_extra(text, "piece") == {}


def test_too_many_closed_lines_and_too_many_outlines_are_refused() -> None:
    def rings(count: int) -> Sketch:
        at = [(40.0 * (n % 40), 40.0 * (n // 40)) for n in range(count)]
        return Sketch(
            "x.svg", tuple(stroke((x, y), (x + 30, y), (x + 30, y + 30), (x, y + 30), closed=True) for x, y in at)
        )

    for count, words in ((MOST_PIECES + 1, f"has {MOST_PIECES + 1} outlines"), (MOST_RINGS + 1, "closed lines")):
        with pytest.raises(FitError, match=words):
            outlines_of(rings(count))


def test_two_lines_of_one_path_are_two_lines() -> None:
    strokes = read_svg(svg('<path d="M0 0 L10 0 L10 5 M20 0 L30 0"/>'), "x.svg").strokes
    assert [(one.start.x, one.end.x, len(one.segments)) for one in strokes] == [(0.0, 10.0, 2), (20.0, 30.0, 1)]


def test_a_drawing_inside_the_drawing_without_a_size_is_as_large_as_it_is_and_lies_at_its_place() -> None:
    for size in ("", 'viewBox="0 0 10 10"'):
        (one,) = read_svg(svg(f'<svg x="30" y="20" {size}><path d="M1 2 L5 2"/></svg>'), "x.svg").strokes
        (flat,) = read_svg(svg('<path d="M31 22 L35 22"/>'), "x.svg").strokes
        assert one.segments == flat.segments


def test_words_that_are_blanks_are_no_words() -> None:
    words = read_svg(svg('<text x="1" y="2"> \n </text><text x="3" y="4">waist</text>'), "x.svg").words
    assert [word.text for word in words] == ["waist"]


def test_an_arc_with_a_number_too_long_is_refused() -> None:
    with pytest.raises(FitError, match="digits or more"):
        read_svg(svg(f'<path d="M0 0 A {"1" * 70} 1 0 0 1 5 5"/>'), "x.svg")


def test_an_outline_that_is_called_outline_is_named_by_the_group_round_it() -> None:
    groups = "".join(f'<g id="{name}"><path id="outline" d="{down(path)}"/></g>' for name, path in
                     (("left", FRONT), ("right", BACK)))  # fmt: skip
    assert [piece.name for piece in bring(svg(groups)).pieces] == ["left", "right"]


def test_in_a_dxf_the_note_of_units_is_found_among_other_words() -> None:
    document = dxf(0)
    for text in ("METRIC is my style", "Cut two", "Units: metric"):
        document.modelspace().add_text(text)
    sketch = read_dxf(dxf_bytes(document), "x.dxf")
    assert (sketch.unit_mm, sketch.said) == (1.0, ())
    assert [word.text for word in sketch.words] == ["METRIC is my style", "Cut two", "Units: metric"]


def test_in_a_dxf_what_is_hidden_or_nowhere_or_says_nothing_is_not_read() -> None:
    document = dxf()
    space = document.modelspace()
    space.add_line((0, 0), (5, 0), {"layer": "8"})
    space.add_line((0, 9), (5, 9), {"layer": "8", "invisible": 1})
    space.add_blockref("not-there", (0, 0))
    space.add_point((1, 1), {"layer": "4"})
    space.add_point((2, 2), {"layer": "99"})
    space.add_text("   ")
    space.add_polymesh((2, 2))
    sketch = read_dxf(dxf_bytes(document), "x.dxf")
    assert [one.segments for one in sketch.strokes] == [(Line(Point(0.0, 0.0), Point(5.0, 0.0)),)]
    assert [(dot.at, dot.kind) for dot in sketch.dots] == [((1.0, 1.0), "notch")]
    assert sketch.words == ()


def test_in_a_dxf_own_data_without_a_key_are_passed_over() -> None:
    document = dxf()
    document.appids.add(APPLICATION)
    line = document.modelspace().add_line((0, 0), (5, 0))
    line.set_xdata(APPLICATION, [(1000, "no key"), (1000, "piece=fro"), (1000, "piece+=nt"), (1070, 3)])
    (one,) = read_dxf(dxf_bytes(document), "x.dxf").strokes
    assert (one.piece, one.data) == ("front", {"piece": "front"})


@pytest.mark.parametrize("spoil", ["knots", "control_points"])
def test_in_a_dxf_a_spoilt_spline_is_left_out_and_the_lines_beside_it_are_read(spoil: str) -> None:
    document = dxf()
    spline = document.modelspace().add_open_spline([(0, 0), (1, 1), (2, 0), (3, 1)])
    setattr(spline, spoil, [0, 0, 1] if spoil == "knots" else [(0, 0), (1, 1)])
    document.modelspace().add_line((0, 0), (5, 0))
    assert [one.end for one in read_dxf(dxf_bytes(document), "x.dxf").strokes] == [(5.0, 0.0)]


@pytest.mark.parametrize("height", ["wide", "[[0, 1], wide]", "{}"])
def test_a_level_in_the_labels_that_is_no_height_is_refused_and_the_others_are_read(height: str) -> None:
    text = f"unit: mm\npieces: {{1: {{levels: {{waist: {height}, hip: 20}}}}}}\n"
    with pytest.raises(FitError) as caught:
        read_labels(parse_yaml(text, "labels.yaml").data, "labels.yaml")
    assert [mistake.where.partition(", point")[0] for mistake in caught.value.mistakes] == [
        "labels.yaml, piece 1, level waist"
    ]


def test_labels_may_part_an_outline_into_two_edges_without_sides() -> None:
    text = """
        unit: mm
        pieces:
          lens:
            edges:
              - {name: low, role: bottom, from: [10, -100]}
              - {name: high, role: top, from: [190, -100]}
        levels: {waist: 60}
    """
    lens = svg('<path id="lens" d="M10 100 C70 180 130 180 190 100 C130 20 70 20 10 100 Z"/>')
    labels = read_labels(parse_yaml(text, "labels.yaml").data, "labels.yaml")
    (piece,) = bring(lens, labels=labels).pieces
    assert [(e.name, e.role, len(e.segments)) for e in piece.edges] == [("low", "bottom", 1), ("high", "top", 1)]
