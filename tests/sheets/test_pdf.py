"""The PDF read back: page sizes by pypdf, lines as poppler draws them, against the pattern to 0.05 mm."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from functools import cache
from pathlib import Path as File
from typing import Any

import pytest
from msgspec.structs import replace
from PIL import Image
from plain_pieces import oblong, one
from plain_pieces import settings as bundled
from pypdf import PdfReader

from diagnose.errors import FitError
from diagnose.pattern.geometry.plane import Affine, distance
from diagnose.pattern.measure import outline_segments
from diagnose.pattern.operations import do, parse_operations
from diagnose.pattern.outline import Pattern, Point
from diagnose.sheets.cutting.allowance import allowances_of
from diagnose.sheets.cutting.cut_drawing import Sheet, cut_drawings
from diagnose.sheets.writers.paper_sizes import LABEL_MM, MARGIN_MM, PAPERS
from diagnose.sheets.writers.pdf import pattern_pdf
from diagnose.sheets.writers.tiling import tiled

MM = 25.4 / 72
NEAR_MM = 0.05
STROKED = re.compile(r'<path style="fill:none;stroke-width:([\d.]+);[^"]*" d="([^"]*)" transform="matrix\(([^)]*)\)"')
poppler = pytest.mark.skipif(shutil.which("pdftocairo") is None, reason="needs Debian's poppler-utils")


@cache
def allowed() -> dict[Any, float]:
    return allowances_of(bundled())


def pdf(pattern: Pattern, before: Pattern | None = None, paper: str = "a4", **more: Any) -> bytes:
    told = more.pop("told", None)
    return pattern_pdf(Sheet(pattern, before, allowed(), **more), paper, told)


def altered(corset: Pattern) -> Pattern:
    taken = {
        "op": "move-edge",
        "piece": "p5",
        "edge": "back-seam",
        "by": [{"at": "top", "mm": 9}, {"at": "hip", "mm": -6}],
    }
    return do(corset, parse_operations([taken])).pattern


def lines_of(data: bytes, page: int, folder: File) -> list[tuple[float, list[Point]]]:
    """Line width, and ends and handles, of all that is stroked on a page: mm, from its lower left, as poppler draws."""
    source, drawn = folder / "in.pdf", folder / "out.svg"
    source.write_bytes(data)
    # Without -noshrink poppler fits the page to its own margins, and 50 mm comes out as 49.94; without -nocenter
    # it centres the page on paper of whole points, and all lies 0.13 mm aside.
    command = [
        "pdftocairo",
        "-svg",
        "-noshrink",
        "-nocenter",
        "-f",
        str(page),
        "-l",
        str(page),
        str(source),
        str(drawn),
    ]
    subprocess.run(command, check=True, timeout=120)
    text = drawn.read_text()
    height = float(re.search(r'height="([\d.]+)pt"', text)[1])  # type: ignore[index]
    return [_line(*found, height) for found in STROKED.findall(text)]


def _line(width: str, steps: str, matrix: str, height: float) -> tuple[float, list[Point]]:
    a, b, c, d, e, f = (float(n) for n in matrix.split(","))
    numbers = [float(n) for n in re.findall(r"-?[\d.]+(?:e-?\d+)?", re.sub(r"Z\s*M[^A-Z]*$", "", steps))]
    points = zip(numbers[::2], numbers[1::2], strict=True)
    shown = [Point((a * x + c * y + e) * MM, (height - (b * x + d * y + f)) * MM) for x, y in points]
    return float(width) * (a * a + b * b) ** 0.5 * MM, shown


def wanted_points(pattern: Pattern, name: str, move: Affine) -> list[Point]:
    segments = outline_segments(pattern.piece(name))
    points = [segments[0].start]
    for s in segments:
        points += [s.c1, s.c2, s.end] if hasattr(s, "c1") else [s.end]
    return [move(p) for p in points]


def opened(path: list[Point]) -> list[Point]:
    """The path without its return to the start, which poppler leaves to the closing when it is straight."""
    return path[:-1] if distance(path[0], path[-1]) < 0.001 else path


def farthest(wanted: list[Point], paths: list[list[Point]]) -> float:
    """How far the nearest of the drawn paths strays from the points wanted, step by step."""
    want = opened(wanted)
    same = [path for path in map(opened, paths) if len(path) == len(want)]
    return min((max(distance(a, b) for a, b in zip(want, path, strict=True)) for path in same), default=float("inf"))


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_every_page_has_the_size_of_the_paper(corset: Pattern, paper: str, size: tuple[float, float]) -> None:
    for page in PdfReader(io.BytesIO(pdf(corset, paper=paper))).pages:
        assert (float(page.mediabox.width) * MM, float(page.mediabox.height) * MM) == pytest.approx(size, abs=0.01)
        assert page.get("/UserUnit", 1) == 1


def test_the_printing_program_is_asked_not_to_scale(bodies: Pattern) -> None:
    root = PdfReader(io.BytesIO(pdf(bodies))).trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]


@poppler
@pytest.mark.parametrize("paper", ["a4", "letter", "one-sheet"])
def test_the_squares_measure_two_inches_and_five_centimetres_as_drawn(
    bodies: Pattern, paper: str, tmp_path: File
) -> None:
    paths = [path for _, path in lines_of(pdf(bodies, paper=paper), 1, tmp_path) if len(opened(path)) == 4]
    sizes = [tuple(max(p[n] for p in path) - min(p[n] for p in path) for n in (0, 1)) for path in paths]
    for side in (50.8, 50.0):
        assert any(abs(w - side) < NEAR_MM and abs(h - side) < NEAR_MM for w, h in sizes), side


@poppler
def test_the_squares_measure_so_in_what_a_printer_would_put_down(bodies: Pattern, tmp_path: File) -> None:
    """Raster at 1270 dots an inch, 50 dots a mm: the dark columns of a row through both squares."""
    (tmp_path / "in.pdf").write_bytes(pdf(bodies))
    top_mm, rows = 60, 4
    crop = ["-r", "1270", "-x", "0", "-y", str(top_mm * 50), "-W", "7000", "-H", str(rows), "-gray"]
    subprocess.run(["pdftoppm", *crop, "-f", "1", "-l", "1", "in.pdf", "out"], cwd=tmp_path, check=True, timeout=120)
    (drawn,) = tmp_path.glob("out*.pgm")
    row = [Image.open(drawn).getpixel((x, 1)) for x in range(7000)]
    dark = [x for x, grey in enumerate(row) if grey < 128]  # type: ignore[operator]
    starts = [x for n, x in enumerate(dark) if n == 0 or x - dark[n - 1] > 1]
    ends = [x for n, x in enumerate(dark) if n == len(dark) - 1 or dark[n + 1] - x > 1]
    middles = [(a + b) / 2 / 50 for a, b in zip(starts, ends, strict=True)]
    uprights = [m for m, a, b in zip(middles, starts, ends, strict=True) if 8 <= b - a <= 16]  # lines of 0.25 mm
    apart = {round(b - a, 3) for a in uprights for b in uprights if b > a}
    assert any(abs(gap - 50.8) < NEAR_MM for gap in apart)
    assert any(abs(gap - 50.0) < NEAR_MM for gap in apart)


@poppler
@pytest.mark.parametrize("name", ["bodies", "corset"])
def test_each_pages_lines_lie_on_the_pattern(name: str, request: pytest.FixtureRequest, tmp_path: File) -> None:
    """Page by page, put back where it belongs on the sheet, each outline is the pattern's to 0.05 mm."""
    pattern = request.getfixturevalue(name)
    tiling = tiled(cut_drawings(Sheet(pattern, None, allowed())), PAPERS["a4"])
    data = pdf(pattern)
    seen = set[str]()
    for number, tile in enumerate(tiling.tiles, 2):
        paths = [path for width, path in lines_of(data, number, tmp_path) if width > 0.7]
        to_page = Affine(dx=MARGIN_MM - tile.window.left, dy=MARGIN_MM + LABEL_MM - tile.window.bottom)
        for placing in tiling.placings:
            piece = placing.drawing.title
            if farthest(wanted_points(pattern, piece, placing.move.then(to_page)), paths) < NEAR_MM:
                seen.add(piece)
    assert seen == {piece.name for piece in pattern.pieces}


@poppler
def test_the_one_sheet_bears_every_outline_and_the_older_one_of_a_change(corset: Pattern, tmp_path: File) -> None:
    new = altered(corset)
    lines = lines_of(pdf(new, corset, "one-sheet"), 1, tmp_path)
    bold = [path for width, path in lines if width > 0.7]
    thin = [path for width, path in lines if 0.3 < width < 0.4]
    for pieces, paths in ((new, bold), (corset, thin)):
        wanted = wanted_points(pieces, "p5", Affine())
        by = [Affine(dx=path[0].x - wanted[0].x, dy=path[0].y - wanted[0].y) for path in paths]
        assert min(farthest(wanted_points(pieces, "p5", move), paths) for move in by) < NEAR_MM


def test_the_page_names_version_and_date_stand_on_every_page(corset: Pattern) -> None:
    data = pdf(altered(corset), corset, version="version 2", date="2024-05-01")
    pages = PdfReader(io.BytesIO(data)).pages
    texts = [page.extract_text() for page in pages]
    assert all("version 2" in text and "2024-05-01" in text for text in texts)
    sheet = Sheet(altered(corset), corset, allowed(), version="version 2", date="2024-05-01")
    tiling = tiled(cut_drawings(sheet), PAPERS["a4"])
    assert all(tile.name in text for tile, text in zip(tiling.tiles, texts[1:], strict=True))
    assert all(tile.name in texts[0] for tile in tiling.tiles)


def test_cutting_words_levels_and_edges_are_written_on_the_pieces(bodies: Pattern) -> None:
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf(bodies))).pages)
    for words in ("cut 1 on the fold", "lay on the fold", "lacing edge", "waist", "bust point", "2 in", "5 cm"):
        assert words in text


def test_the_allowances_given_are_told_and_the_fold_has_none(bodies: Pattern) -> None:
    text = PdfReader(io.BytesIO(pdf(bodies))).pages[0].extract_text().replace("\u00a0", " ")
    assert "lacing 1 in (25 mm)" in text
    assert "none at fold" in text


def test_the_same_pattern_gives_the_same_bytes(bodies: Pattern) -> None:
    assert pdf(bodies) == pdf(bodies)


def test_progress_is_told_page_by_page(bodies: Pattern) -> None:
    steps = list[tuple[int, int]]()
    data = pdf(bodies, told=lambda done, of: steps.append((done, of)))
    count = len(PdfReader(io.BytesIO(data)).pages)
    assert steps == [(n, count) for n in range(1, count + 1)]


def test_a_pattern_too_large_for_one_sheet_and_an_unknown_paper_are_refused() -> None:
    two = tuple(replace(oblong(4900.0, 4900.0), name=name) for name in ("a", "b"))
    with pytest.raises(FitError, match="too large"):
        pdf(Pattern("huge", "back", two), paper="one-sheet")
    with pytest.raises(FitError, match="one-sheet"):
        pdf(one(oblong()), paper="onesheet")


@pytest.mark.parametrize("name", ["☂ naïve (½)", "a) Tj ET (", "\\", "x" * 200, "日本"])
def test_any_name_can_be_written(name: str) -> None:
    data = pdf(replace(one(replace(oblong(), name=name)), name=name), version=name)
    assert len(PdfReader(io.BytesIO(data)).pages) >= 2


def test_a_split_pair_is_printed_once_as_it_is_and_once_turned_over(corset: Pattern) -> None:
    split = do(corset, parse_operations([{"op": "split-sides", "piece": "p5"}])).pattern
    left, right = (d for d in cut_drawings(Sheet(split)) if d.title.startswith("p5"))
    assert (left.title, right.title) == ("p5-left", "p5-right")
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf(split))).pages)
    assert "cut 1, the right side" in text
