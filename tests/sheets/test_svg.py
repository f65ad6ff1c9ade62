"""SVG at true scale, read back by svgelements."""

from __future__ import annotations

import io
import math
from xml.etree import ElementTree

import pytest
import svgelements
from made_up import FOLD, HOSTILE
from msgspec.structs import replace
from paper_and_pencil import laid_out, most_off
from svgpathtools import parse_path

from diagnose.pattern import operations
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Cubic, Pattern
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.writers.svg import picture_svg, write_svg

MM_PER_PX = 25.4 / 96
NS = {"s": "http://www.w3.org/2000/svg"}


def read_back(text: str) -> dict[str, svgelements.Path]:
    """Every path with an id, in mm, its place on the page kept."""
    svg = svgelements.SVG.parse(io.StringIO(text), reify=True, ppi=96)
    return {e.id: e for e in svg.elements() if isinstance(e, svgelements.Path) and e.id}


def box_of(text: str) -> list[float]:
    return [float(v) for v in ElementTree.fromstring(text).attrib["viewBox"].split()]


def runs(path: svgelements.Path, left: float, top: float) -> list[tuple[float, float]]:
    """The path as points 0.5 mm apart in the pattern's own frame."""
    points = []
    for segment in path:
        if isinstance(segment, svgelements.Move) or segment.length() == 0:
            continue
        count = max(2, math.ceil(segment.length() * MM_PER_PX / 0.5))
        points += [segment.point(n / count) for n in range(count + 1)]
    return [(p.x * MM_PER_PX + left, -(p.y * MM_PER_PX + top)) for p in points]


@pytest.mark.parametrize("which", ["bodies", "corset"])
def test_outlines_come_back_at_true_scale_within_a_twentieth_of_a_millimetre(
    which: str, request: pytest.FixtureRequest
) -> None:
    pattern: Pattern = request.getfixturevalue(which)
    text = write_svg(draw_pattern(pattern))
    left, top, *_ = box_of(text)
    paths = read_back(text)
    for piece in pattern.pieces:
        found = runs(paths[f"outline-{piece.name}"], left, top)
        ring = [p for run in laid_out(piece).values() for p in run]
        assert most_off([ring], found[::3]) <= 0.05
        assert most_off([found], ring[::3]) <= 0.05


def test_cubics_stay_cubics(bodies: Pattern) -> None:
    path = read_back(write_svg(draw_pattern(bodies)))["outline-bodies"]
    cubics = [s for e in bodies.pieces[0].edges for s in e.segments if isinstance(s, Cubic)]
    assert sum(isinstance(s, svgelements.CubicBezier) for s in path) == len(cubics)


def test_page_size_and_view_box_are_the_same_millimetres(corset: Pattern) -> None:
    root = ElementTree.fromstring(write_svg(draw_pattern(corset)))
    _, _, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    assert root.attrib["width"].endswith("mm")
    assert float(root.attrib["width"].removesuffix("mm")) == wide
    assert float(root.attrib["height"].removesuffix("mm")) == high


@pytest.mark.parametrize(("name", "size"), [("2 in", 50.8), ("5 cm", 50.0)])
def test_test_squares_measure_what_they_say(bodies: Pattern, name: str, size: float) -> None:
    path = read_back(write_svg(draw_pattern(bodies)))[name]
    x0, y0, x1, y1 = (v * MM_PER_PX for v in path.bbox())
    assert x1 - x0 == pytest.approx(size, abs=1e-3)
    assert y1 - y0 == pytest.approx(size, abs=1e-3)


def test_test_squares_stand_clear_of_the_pattern(corset: Pattern) -> None:
    paths = read_back(write_svg(draw_pattern(corset)))
    lowest = max(paths[f"outline-{p.name}"].bbox()[3] for p in corset.pieces)
    assert paths["2 in"].bbox()[1] > lowest


def test_every_layer_is_a_group_with_an_id_and_a_label(bodies: Pattern) -> None:
    root = ElementTree.fromstring(write_svg(draw_pattern(bodies)))
    groups = root.findall("s:g", NS)
    ids = [g.attrib["id"] for g in groups]
    wanted = {"outline", "levels", "grain", "channels", "slits", "notches", "landmarks", "names", "test-square"}
    assert wanted <= set(ids)
    assert len(ids) == len(set(ids))
    assert all(g.find("s:title", NS).text for g in groups)  # type: ignore[union-attr]


def test_the_top_of_the_pattern_is_the_top_of_the_page(bodies: Pattern) -> None:
    paths = read_back(write_svg(draw_pattern(bodies)))
    assert paths["outline-bodies"].bbox()[1] < paths["2 in"].bbox()[1]


def test_hostile_names_are_text_and_the_file_is_well_formed(bodies: Pattern) -> None:
    piece = replace(bodies.pieces[0], name=HOSTILE, landmarks={HOSTILE: bodies.pieces[0].landmarks["underarm"]})
    text = write_svg(draw_pattern(replace(bodies, name=HOSTILE, pieces=(piece,))))
    root = ElementTree.fromstring(text)
    assert root.find(".//s:script", NS) is None
    assert any("<script>alert('x')</script>" in (t.text or "") for t in root.iter(f"{{{NS['s']}}}text"))
    assert "\x1b" not in text


def test_before_and_after_have_old_line_shading_and_dimensions(bodies: Pattern) -> None:
    after = operations.do(bodies, operations.parse_operations([FOLD])).pattern
    text = write_svg(draw_pattern(after, bodies))
    root = ElementTree.fromstring(text)
    groups = {g.attrib["id"]: g for g in root.findall("s:g", NS)}
    assert groups["old-line"].attrib["stroke-dasharray"]
    assert float(groups["outline"].attrib["stroke-width"]) > 2 * float(groups["old-line"].attrib["stroke-width"])
    assert len(groups["taken-away"].findall("s:path", NS)) > 10
    words = [t.text for t in groups["dimensions"].findall("s:text", NS)]
    assert len(words) >= 5
    assert all(w and w.endswith(" in") for w in words)


def test_the_right_one_of_a_split_pair_is_drawn_turned_over(bodies: Pattern) -> None:
    split = operations.do(bodies, operations.parse_operations([{"op": "split-sides", "piece": "bodies"}])).pattern
    text = write_svg(draw_pattern(split, bodies))
    left, top, *_ = box_of(text)
    paths = read_back(text)
    one, other = (runs(paths[f"outline-bodies-{side}"], left, top) for side in ("left", "right"))
    box = bounds(bodies.pieces[0])
    ring = [p for run in laid_out(bodies.pieces[0]).values() for p in run]
    assert most_off([ring], one[::9]) <= 0.05
    shift = max(p[0] for p in other) + box.left
    assert most_off([ring], [(shift - x, y) for x, y in other[::9]]) <= 0.05
    clear = min(p[0] for p in other) > max(p[0] for p in one) or max(p[0] for p in other) < min(p[0] for p in one)
    assert clear


def test_a_picture_fills_its_place_and_is_read_aloud(bodies: Pattern) -> None:
    root = ElementTree.fromstring(picture_svg(draw_pattern(bodies), 'the "bodies"'))
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-label"] == 'the "bodies"'
    assert "viewBox" in root.attrib
    assert "width" not in root.attrib


@pytest.mark.parametrize("which", ["bodies", "corset"])
def test_a_picture_on_a_page_read_by_another_library_lies_on_the_pattern(
    which: str, request: pytest.FixtureRequest
) -> None:
    pattern: Pattern = request.getfixturevalue(which)
    text = picture_svg(draw_pattern(pattern), "the pattern")
    drawn = [parse_path(path.attrib["d"]) for path in ElementTree.fromstring(text).iter("path")]
    for piece in pattern.pieces:
        count = sum(len(edge.segments) for edge in piece.edges)
        ring = [p for run in laid_out(piece).values() for p in run]
        rings = [path for path in drawn if count <= len(path) <= count + 1]
        found = [[s.point(n / 40) for s in path for n in range(41)] for path in rings]
        off = [most_off([ring], [(p.real, -p.imag) for p in points[::5]]) for points in found]
        assert min(off) <= 0.05
