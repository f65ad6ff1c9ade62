"""A pattern drawn by us and read back is the whole stored pattern; drawn by others, its outline within 0.01 mm."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from drawings import bring, draw_dxf, dxf, dxf_bytes, edges_of, off_mm
from msgspec.structs import replace

from diagnose.errors import FitError
from diagnose.model.stations import STATIONS
from diagnose.pattern import operations
from diagnose.pattern.brought import Terms, load_pattern
from diagnose.pattern.brought import bring as bring_file
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.measure import garment_girth
from diagnose.pattern.outline import Pattern, Point, Role
from diagnose.sheets.cutting.cut_drawing import Sheet
from diagnose.sheets.drawn.pattern_drawing import draw_pattern
from diagnose.sheets.writers.dxf import pattern_dxf
from diagnose.sheets.writers.svg import write_svg

PATTERNS = Path(__file__).parents[3] / "cases" / "patterns"
BOTH = pytest.mark.parametrize("name", ["six-panel-corset", "boned-bodies"])


def stored(name: str) -> Pattern:
    return load_pattern(PATTERNS / f"{name}.json")


def altered(pattern: Pattern, *raw: dict[str, object]) -> Pattern:
    return operations.do(pattern, operations.parse_operations(list(raw), "do", "in")).pattern


def every_bundled() -> dict[str, Pattern]:
    """Each bundled pattern by its file's name, whatever its form."""
    files = [path for path in sorted(PATTERNS.iterdir()) if path.suffix in (".json", ".csv", ".svg", ".dxf")]
    return {path.name: bring(path.read_bytes(), path.name) if path.suffix in (".svg", ".dxf") else load_pattern(path)
            for path in files}  # fmt: skip


def as_svg(pattern: Pattern, before: Pattern | None = None) -> tuple[bytes, str]:
    return write_svg(draw_pattern(pattern, before)).encode(), "again.svg"


def as_dxf(pattern: Pattern, before: Pattern | None = None) -> tuple[bytes, str]:
    allowances: dict[Role, float] = {"seam": 12.7, "lacing": 25.4, "opening": 12.7}
    return pattern_dxf(Sheet(pattern, before, allowances)).encode(), "again.dxf"


def unlike(one: object, other: object, place: str = "") -> Iterator[str]:
    """Where two stored forms differ; numbers by more than a thousandth, levels by what lies inside the pieces."""
    if isinstance(one, dict) and isinstance(other, dict):
        for key in sorted({*one, *other} - ({"levels"} if "edges" in one else set())):
            yield from unlike(one.get(key), other.get(key), f"{place}/{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for n, (a, b) in enumerate(zip(one, other, strict=True)):
            yield from unlike(a, b, f"{place}/{n}")
    elif one != other and not (isinstance(one, float | int) and one == pytest.approx(other, abs=0.001)):
        yield f"{place}: {one} and {other}"


def assert_the_whole_comes_back(pattern: Pattern, drawing: tuple[bytes, str]) -> None:
    brought = bring_file(*drawing)
    again = brought.pattern
    assert list(unlike(to_json(pattern), to_json(again))) == []
    assert brought.said == ()
    assert all(off_mm(piece, old) < 0.01 for piece, old in zip(again.pieces, pattern.pieces, strict=True))
    assert [list(piece.levels) for piece in again.pieces] == [list(piece.levels) for piece in pattern.pieces]
    for station in STATIONS:
        assert garment_girth(again, station) == pytest.approx(garment_girth(pattern, station), abs=0.05)


FORMS = pytest.mark.parametrize("form", [as_svg, as_dxf])
Form = Callable[..., tuple[bytes, str]]
BUNDLED = every_bundled()


@FORMS
@pytest.mark.parametrize("name", BUNDLED)
def test_a_bundled_pattern_drawn_by_us_comes_back_whole(name: str, form: Form) -> None:
    assert_the_whole_comes_back(BUNDLED[name], form(BUNDLED[name]))


PIECES = [
    pytest.param(name, piece.name, marks=pytest.mark.long if number else ())
    for name, one in BUNDLED.items()
    for number, piece in enumerate(one.pieces)
]
"""Of each bundled pattern every piece; all but the first when there is time."""


@FORMS
@pytest.mark.parametrize(("name", "piece"), PIECES)
def test_after_a_pair_is_split_both_sides_come_back_whole_from_where_they_were_drawn(
    name: str, piece: str, form: Form
) -> None:
    before = BUNDLED[name]
    after = altered(before, {"op": "split-sides", "piece": piece})
    assert_the_whole_comes_back(after, form(after, before))


@FORMS
def test_a_gore_and_its_seams_with_a_slit_come_back(form: Form) -> None:
    before = BUNDLED["boned-bodies.json"]
    foot, tip = (list(point) for point in before.pieces[0].slits[1].line)
    gore: dict[str, object] = {"op": "insert-gore", "piece": "bodies", "slit_foot": foot, "tip": tip, "width": 30}
    after = altered(before, gore)
    assert any(seam.b.edge.startswith("slit:") for seam in after.seams)
    assert_the_whole_comes_back(after, form(after, before))


@FORMS
def test_bent_channels_and_straps_let_out_come_back(form: Form) -> None:
    before = BUNDLED["boned-bodies.json"]
    bodies = before.pieces[0]
    bent = replace(
        bodies.channels[0], line=(Point(40.0, 0.0), Point(48.0, 60.0), Point(40.0, 62.0), Point(44.0, 120.0))
    )
    pattern = replace(
        before, pieces=(replace(bodies, channels=(bent, *bodies.channels[1:])),),
        extra={**before.extra, "straps": {"bodies/front": {"lengthened_mm": 12.7}}},
    )  # fmt: skip
    assert_the_whole_comes_back(pattern, form(pattern))


@FORMS
def test_names_that_say_nothing_or_hold_blanks_and_signs_come_back(form: Form) -> None:
    corset = BUNDLED["six-panel-corset.json"]
    raw = json.dumps(to_json(corset))
    for old, new in (
        ("p1", "1"),
        ("p2", "Layer 2"),
        ("p3", "a.b:c d/e%3A+\u00e9"),
        ("hem", "path 1"),
        ("p4", "outline"),
    ):
        raw = raw.replace(f'"{old}"', json.dumps(new))
    pattern = read_pattern(json.loads(raw))
    assert_the_whole_comes_back(pattern, form(pattern))


def test_points_added_in_a_drawing_program_leave_the_edges_their_names_and_seams() -> None:
    data, name = as_svg(BUNDLED["underarm-panels.csv"])
    text = data.decode()
    head, _, rest = text.partition('id="outline-front-panel"')
    path = rest[rest.index(' d="M') + 5 :].partition(" C")[0]
    assert path.replace(" ", "").replace(".", "").replace("-", "").isdigit()
    twice = rest.replace(f"M{path} C", f"M{path} C{path} {path} {path} L{_beside(path)} C", 1)
    again = bring((head + 'id="outline-front-panel"' + twice).encode(), name)
    stored_ = BUNDLED["underarm-panels.csv"]
    assert [edges_of(piece) for piece in again.pieces] == [edges_of(piece) for piece in stored_.pieces]
    assert [seam.name for seam in again.seams] == ["underarm"]


def _beside(spot: str) -> str:
    x, y = (float(word) for word in spot.split())
    return f"{x + 0.5} {y - 0.02}"


def test_a_seam_whose_edge_was_rubbed_out_is_left_out_and_said() -> None:
    data, name = as_svg(BUNDLED["six-panel-corset.json"])
    brought = bring_file(data.replace(b'data-edges="hem:bottom:', b'data-edges="foot:bottom:').replace(
        b":back-seam:p2:front-seam:", b":back-seam:p2:gone:"), name)  # fmt: skip
    assert [seam.name for seam in brought.pattern.seams] == ["seam-2", "seam-3", "seam-4", "seam-5"]
    assert brought.said == ("Seams whose edges are no longer in the drawing were left out: seam-1.",)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('data-number="1"', 'data-number="-999999999999999999"'),
        ('data-sewn="1:', 'data-sewn="1:2:3 x ::::: 999999999999999999999999:'),
        ("data-closure=", 'data-lies="nan 1e999" data-closure='),
        ("data-closure=", 'data-extra="{&quot;edges&quot;: {&quot;hem&quot;: 5}, &quot;start&quot;: 7}" data-closure='),
        ("data-closure=", f'data-pattern-extra="{"[" * 60_000}" data-closure='),
        (':seam:', ':seam:9999999999999999999999'),
    ],
)  # fmt: skip
def test_data_spoilt_by_hand_bring_a_pattern_or_a_sentence(old: str, new: str) -> None:
    text = as_svg(BUNDLED["six-panel-corset.json"])[0].decode()
    assert old in text
    brings_only_a_pattern_or_an_error(text.replace(old, new).encode())


def brings_only_a_pattern_or_an_error(data: bytes) -> None:
    try:
        found: object = bring(data, "spoilt.svg").pieces
    except FitError as error:
        found = error.mistakes
    assert found


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
    from diagnose.pattern.brought.understood.labels import Labels

    return bring_file(data, "x.dxf", Terms("in"), Labels(levels={"waist": 150.0})).settled()


def test_segments_drawn_in_a_shuffled_order_and_turned_round_close_to_the_same_outlines() -> None:
    from diagnose.pattern.geometry.bezier import reverse

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
