"""Drawings made to harm: each is refused quickly, with a reason, and no file brings out more than that."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from itertools import pairwise

import ezdxf
import pytest
from drawings import BACK, FRONT, bring, down, dxf, dxf_bytes, plain_svg, svg
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.errors import FitError
from diagnose.pattern.brought import Terms
from diagnose.pattern.brought import bring as bring_file
from diagnose.pattern.brought.understood.labels import read_labels
from diagnose.pattern.outline import Pattern

QUICK_S = 1.5
"""Of the processor's time: half as much again as a second, since other tests may run beside."""

LAUGHS = (
    b"""<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "ha">%s]><svg xmlns="http://www.w3.org/2000/svg">&z;</svg>"""
)


def entity_bomb() -> bytes:
    levels = b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(20))
    return LAUGHS % levels


def deep(count: int) -> bytes:
    return svg("<g>" * count + f'<path d="{FRONT}"/>' + "</g>" * count)


def use_bomb() -> bytes:
    rows = [f'<g id="u{n}">' + f'<use href="#u{n + 1}"/>' * 10 + "</g>" for n in range(12)]
    return svg(f'<defs>{"".join(rows)}<path id="u12" d="M0 0L1 1"/></defs><use href="#u0"/>')


def use_chain(count: int) -> bytes:
    rows = "".join(f'<use id="u{n}" href="#u{n + 1}"/>' for n in range(count))
    return svg(rows + f'<path id="u{count}" d="M0 0L1 1"/>')


SVGS: list[tuple[str, Callable[[], bytes], str]] = [
    ("entities", entity_bomb, "entities"),
    ("one outside entity", lambda: b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///dev/zero">]><svg>&x;</svg>', "entities"),
    ("parameter entity", lambda: b'<!DOCTYPE svg [<!ENTITY % x SYSTEM "x"> %x;]><svg/>', "entities"),
    ("deep groups", lambda: deep(200), "deep in one another"),
    ("very deep groups", lambda: deep(100_000), "deep in one another"),
    ("a bomb of uses", use_bomb, "with all its uses"),
    ("a use of itself", lambda: svg('<g id="a"><use href="#a"/></g>'), "in a ring"),
    ("uses in a ring", lambda: svg('<use id="a" href="#b"/><use id="b" href="#a"/>'), "in a ring"),
    ("a long chain of uses", lambda: use_chain(5_000), "in a ring"),
    ("many elements", lambda: svg("<g/>" * 60_000), "more than 20000 elements"),
    ("a long path", lambda: svg(f'<path d="M0 0{"h1" * 300_000}"/>'), "more than 200000 steps"),
    ("a long line", lambda: svg(f'<path d="M0 0{"h1" * 30_000}"/>'), "more than 20000 steps"),
    ("a long polyline", lambda: svg(f'<polyline points="{"1 1 2 2 " * 30_000}"/>'), "more than 20000 points"),
    ("a path of arcs", lambda: svg(f'<path d="M0 0a{"1 1 0 011 1 " * 250_000}"/>'), "steps"),
    ("a long number", lambda: svg(f'<path d="M0 0L{"9" * 5_000_000} 0"/>'), "60 digits"),
    ("a huge number", lambda: svg('<path d="M0 0L1e400 0"/>'), "too large"),
    ("a far point", lambda: svg('<path d="M0 0L1e300 0L5 5Z"/>'), "100 m away"),
    ("a scale into the void", lambda: svg('<g transform="scale(1e300)"><path d="M0 0L1e300 0L5 5Z"/></g>'), "100 m"),
    ("not a number", lambda: svg('<path d="M0 0LNaN 0"/>'), "not a number"),
    ("numbers that could be parted in many ways", lambda: svg(f'<path d="M0 0A{"1" * 50}x"/>'), "seven numbers"),
    ("a long transform", lambda: svg(f'<g transform="{"scale(1)" * 9_999}"/>'), "transform"),
    ("too large a file", lambda: b"<svg>" + b" " * 20_000_001, "20 MB"),
    ("packed", lambda: b"\x1f\x8b\x08" + b"\0" * 50, "packed"),
    ("an unknown encoding", lambda: b'<?xml version="1.0" encoding="klingon"?><svg/>', "encoding"),
    ("bytes of zero", lambda: b"\0" * 1_000, "not sound XML"),
]


@pytest.mark.parametrize(("make", "words"), [row[1:] for row in SVGS], ids=[row[0] for row in SVGS])
def test_a_hostile_svg_is_refused_quickly_with_its_reason(make: Callable[[], bytes], words: str) -> None:
    data = make()
    began = time.process_time()
    with pytest.raises(FitError) as caught:
        bring(data)
    assert time.process_time() - began < QUICK_S
    assert words in str(caught.value)


def nothing_is_fetched() -> bytes:
    outside = '<image href="http://127.0.0.1:9/x.png"/><use href="http://127.0.0.1:9/x.svg#a"/>'
    return svg(f'{outside}<path d="{down(FRONT)}"/>')


def test_nothing_outside_the_file_is_fetched() -> None:
    assert len(bring(nothing_is_fetched()).pieces) == 1


def block_bomb() -> bytes:
    document = dxf()
    document.blocks.new("b12").add_line((0, 0), (1, 1))
    for n in range(11, -1, -1):
        block = document.blocks.new(f"b{n}")
        for _ in range(10):
            block.add_blockref(f"b{n + 1}", (0, 0))
    document.modelspace().add_blockref("b0", (0, 0))
    return dxf_bytes(document)


def block_ring() -> bytes:
    document = dxf()
    for name, other in (("a", "b"), ("b", "a")):
        document.blocks.new(name).add_blockref(other, (0, 0))
    document.modelspace().add_blockref("a", (0, 0))
    return dxf_bytes(document)


def block_rows() -> bytes:
    document = dxf()
    document.blocks.new("a").add_line((0, 0), (1, 1))
    rows = {"row_count": 30_000, "column_count": 30_000, "row_spacing": 1, "column_spacing": 1}
    document.modelspace().add_blockref("a", (0, 0), dxfattribs=rows)
    return dxf_bytes(document)


def spline_of(count: int, degree: int) -> bytes:
    document = dxf()
    spline = document.modelspace().add_spline(degree=degree)
    spline.control_points = [(n, n % 2) for n in range(count)]
    spline.knots = list(range(count + degree + 1))
    return dxf_bytes(document)


def with_number(text: str) -> bytes:
    document = dxf()
    document.modelspace().add_line((0, 0), (123456.5, 0))
    return dxf_bytes(document).replace(b"123456.5", text.encode())


DXFS: list[tuple[str, Callable[[], bytes], str]] = [
    ("a bomb of blocks", block_bomb, "with all its blocks"),
    ("blocks in a ring", block_ring, "in a ring"),
    ("rows without end", block_rows, "with all its blocks"),
    ("a spline of many points", lambda: spline_of(5_000, 3), "spline has more than"),
    ("a spline of a high degree", lambda: spline_of(60, 50), "degree 50"),
    ("not a number", lambda: with_number("nan"), "100 m"),
    ("endless", lambda: with_number("1e999"), "100 m"),
    ("far away", lambda: with_number("1e300"), "100 m"),
    ("a spoilt number", lambda: with_number("12x456.5"), "spoilt"),
    ("many entities", lambda: b"0\nSECTION\n2\nENTITIES\n" + b"0\nLINE\n" * 60_000, "entities"),
    ("many points", lambda: b"0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n" + b"10\n1.0\n20\n1.0\n" * 250_000, "points"),
    ("too large a file", lambda: b"0\nSECTION\n" + b" " * 20_000_000, "20 MB"),
    ("only a beginning", lambda: b"0\nSECTION\n2\nHEADER\n" * 3, "x.dxf"),
]


@pytest.mark.parametrize(("make", "words"), [row[1:] for row in DXFS], ids=[row[0] for row in DXFS])
def test_a_hostile_dxf_is_refused_quickly_with_its_reason(make: Callable[[], bytes], words: str) -> None:
    ezdxf.new()  # the library itself is imported before the clock starts
    data = make()
    began = time.process_time()
    with pytest.raises(FitError) as caught:
        bring(data, "x.dxf")
    assert time.process_time() - began < QUICK_S
    assert words in str(caught.value)


def brings_only_a_pattern_or_an_error(data: bytes, name: str) -> None:
    try:
        found: object = bring(data, name)
    except FitError as error:
        found = error.mistakes
    assert isinstance(found, Pattern) or found


FEW = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
NUMBERS = st.one_of(
    st.integers(-500, 500).map(str), st.floats(width=32).map(str), st.sampled_from(["1e9", "-.5", "NaN", "5e"])
)
DATA = st.lists(
    st.tuples(st.sampled_from("MmLlHhVvCcSsQqTtAaZz"), st.lists(NUMBERS, max_size=7)), min_size=1, max_size=12
).map(lambda rows: "M0 0" + " ".join(command + " ".join(numbers) for command, numbers in rows))


@FEW
@given(st.lists(DATA, min_size=1, max_size=4), st.sampled_from(["", "scale(-1 2)", "rotate(33)", "scale(0)"]))
def test_any_path_data_brings_a_pattern_or_an_error(paths: list[str], transform: str) -> None:
    body = "".join(f'<path transform="{transform}" d="{path}"/>' for path in paths)
    brings_only_a_pattern_or_an_error(svg(body), "x.svg")


POINTS = st.lists(st.tuples(st.integers(-300, 300), st.integers(-300, 300)), min_size=3, max_size=12)


@FEW
@given(st.lists(POINTS, min_size=1, max_size=4))
def test_any_polygons_bring_a_pattern_or_an_error(outlines: list[list[tuple[int, int]]]) -> None:
    body = "".join(f'<polygon points="{" ".join(f"{x},{y}" for x, y in points)}"/>' for points in outlines)
    brings_only_a_pattern_or_an_error(svg(body), "x.svg")


def spoilt(data: bytes, at: int, cut: int, put: bytes) -> bytes:
    at %= len(data)
    return data[:at] + put + data[at + cut :]


SPOILING = (st.integers(0, 10**6), st.integers(0, 40), st.binary(max_size=12))


@FEW
@given(*SPOILING)
def test_a_spoilt_svg_brings_a_pattern_or_an_error(at: int, cut: int, put: bytes) -> None:
    brings_only_a_pattern_or_an_error(spoilt(plain_svg(), at, cut, put), "x.svg")


@pytest.fixture(scope="module")
def small_dxf() -> bytes:
    document = dxf()
    space = document.modelspace()
    points = [(0, 0, 0.1), (120, 0, 0), (100, 150, 0), (125, 320, 0.2), (0, 300, 0)]
    space.add_lwpolyline(points, format="xyb", close=True)
    space.add_open_spline([(0, 0), (30, 90), (60, -30), (90, 0)], degree=3)
    document.blocks.new("back").add_lwpolyline([(160, 0), (280, 0), (280, 310)], close=True)
    space.add_blockref("back", (0, 0))
    space.add_mtext("front", dxfattribs={"insert": (50, 100)})
    return dxf_bytes(document)


@settings(FEW, max_examples=60)
@given(st.integers(0, 12_000), st.integers(0, 40), st.sampled_from([b"", b"0\n", b"nan", b"-1", b"\n999999\n"]))
def test_a_spoilt_dxf_brings_a_pattern_or_an_error(small_dxf: bytes, back: int, cut: int, put: bytes) -> None:
    brings_only_a_pattern_or_an_error(spoilt(small_dxf, len(small_dxf) - 1 - back, cut, put), "x.dxf")


WORDS = st.one_of(st.text(max_size=8), st.sampled_from(["1", "front", "hem", "seam", "2 in", "waist", "x/y"]))
KEYS = st.one_of(WORDS, st.sampled_from(["pieces", "edges", "levels", "seams", "name", "from", "scale"]))
TREES = st.recursive(
    WORDS, lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=12,
)  # fmt: skip


@FEW
@given(TREES)
def test_any_labels_bring_a_pattern_or_an_error(raw: object) -> None:
    try:
        found: object = bring_file(plain_svg(), "x.svg", Terms("in"), read_labels(raw, "labels"))
    except FitError as error:
        found = error.mistakes
    assert found


def test_a_drawing_of_many_true_steps_is_still_read() -> None:
    seam = " ".join(f"{120 - 20 * (1 - abs(y / 150 - 1)):.3f} {400 - y:.3f}" for y in (k * 0.06 for k in range(5_001)))
    pattern = bring(svg(f'<path d="M0 400 {seam} 0 100Z"/><path d="{down(BACK)}"/>'))
    assert len(pattern.pieces) == 2


def test_an_outline_in_thousands_of_lines_that_stays_open_is_refused_as_quickly() -> None:
    turns = [2.0 * math.pi * n / 3_000 for n in range(3_000)]
    spots = [f"{1200 + 1000 * math.cos(turn):.3f} {1700 + 1500 * math.sin(turn):.3f}" for turn in turns]
    body = "".join(f'<path d="M{a}L{b}"/>' for a, b in pairwise(spots))
    began = time.process_time()
    with pytest.raises(FitError, match="2999 lines stay open"):
        bring(svg(body))
    assert time.process_time() - began < QUICK_S
