from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

from diagnose.errors import FitError
from diagnose.pattern.brought import Terms, load_pattern
from diagnose.pattern.brought.believing import Believable
from diagnose.pattern.brought.table import bring_table
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.bezier import tangent
from diagnose.pattern.geometry.plane import cross
from diagnose.pattern.measure import edge_length, garment_girth, piece_area, seam_difference, station_width
from diagnose.pattern.outline import Cubic, Line, Pattern, Point


def read_table(text: str) -> Pattern:
    return bring_table(text).settled()


BUNDLED = Path(__file__).parents[3] / "cases" / "patterns" / "underarm-panels.csv"
HEADING = "piece,edge,role,point,out,up,kind"
PLAIN = f"""{HEADING}
front,hem,bottom,1,5,-3,corner
front,side,seam,2,5,7,corner
front,neck,top,3,0,8,corner
front,centre-front,fold,4,0,-3,corner
"""


def mistakes(text: str) -> list[tuple[str, str]]:
    with pytest.raises(FitError) as caught:
        read_table(text)
    return [(m.where, m.what) for m in caught.value.mistakes]


def test_a_plain_table_is_straight_between_corners_and_in_inches() -> None:
    pattern = read_table(PLAIN)
    (front,) = pattern.pieces
    assert (front.name, front.cut, pattern.closure, pattern.name) == ("front", "fold", "back", "table")
    assert all(isinstance(segment, Line) for edge in front.edges for segment in edge.segments)
    assert front.edge("neck").end == pytest.approx((0, 8 * 25.4))
    assert piece_area(front) == pytest.approx((5 * 10 + 5 * 1 / 2) * 25.4**2)


def test_the_levels_that_need_no_line_of_their_own_are_drawn() -> None:
    (front,) = read_table(PLAIN).pieces
    assert {station: line[0].y / 25.4 for station, line in front.levels.items()} == pytest.approx(
        {"top": 7, "waist": 0, "bottom": -3}
    )
    assert station_width(front, "waist") == pytest.approx(5 * 25.4)


def test_a_corner_written_at_both_its_edges_is_one_corner() -> None:
    twice = PLAIN.replace("front,hem,bottom,1,", "front,hem,bottom,0,0,-3,corner\nfront,hem,bottom,1,").replace(
        "front,neck,top,3,", "front,neck,top,2,5,7,corner\nfront,neck,top,3,"
    )
    assert read_table(twice) == read_table(PLAIN)


def test_a_down_column_stands_for_up() -> None:
    rows = [line.split(",") for line in PLAIN.strip().splitlines()[1:]]
    for row in rows:
        row[5] = str(-int(row[5]))
    text = HEADING.replace("up", "down") + "\n" + "\n".join(",".join(row) for row in rows)
    assert read_table(text) == read_table(PLAIN)


def test_the_unit_line_sets_the_unit_wherever_it_stands_and_a_cell_may_name_its_own() -> None:
    text = PLAIN.replace("1,5,-3", "1,50 mm,-3").replace("2,5,7", "2,5,70 mm") + "# level: hip down=1\n# unit: cm\n"
    (front,) = read_table(text).pieces
    assert front.edge("hem").end == pytest.approx((50, -30))
    assert front.edge("side").end == pytest.approx((50, 70))
    assert front.levels["hip"][0].y == pytest.approx(-10)


def test_curve_points_lie_on_one_smooth_curve_with_a_corner_at_each_end() -> None:
    text = PLAIN.replace("front,neck,top,3,0,8,corner", "front,neck,top,a,4,6,curve\nfront,neck,top,b,2,6,curve\n"
                         "front,neck,top,c,0,8,corner")  # fmt: skip
    neck = read_table(text).pieces[0].edge("neck").segments
    assert all(isinstance(segment, Cubic) for segment in neck)
    assert [v / 25.4 for segment in neck for v in segment.end] == pytest.approx([4, 6, 2, 6, 0, 8])
    for before, after in pairwise(neck):
        assert cross(tangent(before, 1.0), tangent(after, 0.0)) == pytest.approx(0, abs=1e-9)


def test_a_curve_runs_smoothly_from_one_edge_into_the_next() -> None:
    text = PLAIN.replace("2,5,7,corner", "2,5,7,curve")
    front = read_table(text).pieces[0]
    side, neck = front.edge("side").segments, front.edge("neck").segments
    assert cross(tangent(side[-1], 1.0), tangent(neck[0], 0.0)) == pytest.approx(0, abs=1e-9)


def test_points_of_a_circle_give_nearly_a_circle() -> None:
    rows = [
        f"cap,{'low' if n < 12 else 'high'},{'bottom' if n < 12 else 'top'},{n},"
        f"{-100 * math.cos(n * math.pi / 12):.6f},{-100 * math.sin(n * math.pi / 12):.6f},curve"
        for n in range(1, 25)
    ]
    pattern = read_table("\n".join(["# unit: mm", "# level: waist up=0", HEADING, *rows]))
    assert piece_area(pattern.pieces[0]) == pytest.approx(math.pi * 100**2, rel=1e-3)
    rim = sum(edge_length(edge) for edge in pattern.pieces[0].edges)
    assert rim == pytest.approx(2 * math.pi * 100, rel=1e-3)


def test_the_bundled_table_reads_well() -> None:
    pattern = load_pattern(BUNDLED)
    assert pattern.name == "underarm panels"
    assert [piece.name for piece in pattern.pieces] == ["front-panel", "back-panel"]
    assert abs(seam_difference(pattern, pattern.seams[0])) < 1.6
    assert garment_girth(pattern, "waist") == pytest.approx(7.25 * 25.4, abs=0.1)
    back = pattern.piece("back-panel")
    assert list(back.levels) == ["top", "underbust", "waist", "hip", "bottom"]
    assert back.channels[0].width == pytest.approx(9.525)
    assert back.landmarks["underarm"] == pytest.approx((9.625 * 25.4, 6.875 * 25.4))
    assert back.notches[0].at == pytest.approx(7 * 25.4)


def test_a_table_written_and_read_again_is_the_same_pattern() -> None:
    def flat(pattern: Pattern) -> list[float]:
        return [v for p in pattern.pieces for e in p.edges for s in e.segments for v in (*s.start, *s.end)]

    pattern = load_pattern(BUNDLED)
    assert flat(read_pattern(to_json(pattern))) == pytest.approx(flat(pattern), abs=1e-6)


def test_all_the_lines_after_a_hash_are_understood() -> None:
    notes = """# name: trial
# closure: front
# cut: front pair
# level: hip down=2 piece=front
# channel: front f1 width=3/8 2,-2-1/2 2,6-1/2 2,7
# slit: front s1 3,-3 3,0
# landmark: front bust-point 3-1/2,6
# grain: front 1,-2 1,6
# notch: front/side 3-1/4
# remark: any other word is a remark, and so is a line without one
# like this
# seam: centre front/centre-front front/centre-front ease=0
"""
    pattern = read_table(notes + PLAIN)
    front = pattern.piece("front")
    assert (pattern.name, pattern.closure, front.cut) == ("trial", "front", "pair")
    assert front.levels["hip"] == (Point(0, -50.8), Point(127, -50.8))
    assert front.channels[0].line[1] == pytest.approx((50.8, 6.5 * 25.4))
    assert front.slits[0].line[1] == pytest.approx((3 * 25.4, 0))
    assert front.landmarks["bust-point"] == pytest.approx((3.5 * 25.4, 6 * 25.4))
    assert front.grain is not None
    assert front.notches[0].at == pytest.approx(3.25 * 25.4)
    assert pattern.seams[0].name == "centre"


def test_a_table_saved_by_a_spreadsheet_is_read(tmp_path: Path) -> None:
    path = tmp_path / "front.csv"
    body = "\r\n".join(["# unit: in,,,,,,", *PLAIN.strip().splitlines(), ",,,,,,", ""])
    path.write_text(body, encoding="utf-8-sig", newline="")
    assert load_pattern(path).pieces == read_table(PLAIN).pieces


@pytest.mark.parametrize("begins", [b"PK\x03\x04", b"\xd0\xcf\x11\xe0"])
def test_a_spreadsheets_own_file_called_csv_is_told_to_be_saved_as_csv(tmp_path: Path, begins: bytes) -> None:
    path = tmp_path / "front.csv"
    path.write_bytes(begins + bytes(200))
    with pytest.raises(FitError, match=r"This is not a table as text.*save it there as CSV"):
        load_pattern(path)


FAULTS = {
    "empty": ("", "table", "The table has 0 lines"),
    "heading": (PLAIN.replace("kind", "sort"), "table, line 1", "The heading is"),
    "heading twice": (PLAIN.replace("point", "out"), "table, line 1", "The heading is"),
    "no points": (PLAIN.splitlines()[0] + "\nsum,,,3,,,\n", "table", "No row of the table holds a point"),
    "cells": (PLAIN.replace("5,-3,corner", "5,-3"), "table, line 2", "The line has 6 cells"),
    "kind": (PLAIN.replace("7,corner", "7,bend"), "table, line 3", "“bend” is no known kind"),
    "length": (PLAIN.replace("2,5,7", "2,five,7"), "table, line 3, out", "“five” is not a length"),
    "nan": (PLAIN.replace("2,5,7", "2,5,nan"), "table, line 3, up", "“nan” is not a length"),
    "no piece": (PLAIN.replace("front,hem", ",hem"), "table, line 2", "does not do as a piece"),
    "role": (PLAIN.replace("seam", "side"), "table, piece front, edge side", "“side” is no known role"),
    "two roles": (
        PLAIN.replace("front,neck,top,3,0,8", "front,side,top,3,0,8"), "table, line 4", "has two roles",
    ),
    "same point": (PLAIN.replace("2,5,7", "2,5,-3"), "table, line 3", "lies on the one before"),
    "numbers fall": (
        PLAIN.replace("front,neck,top,3,", "front,side,seam,1,4,8,corner\nfront,neck,top,3,"), "table, line 4",
        "Point “1” comes after point “2”",
    ),
    "edge taken up again": (
        PLAIN + "front,hem,bottom,9,3,-3,corner\n", "table, piece front", "2 edges are named “hem”",
    ),
    "unit": (PLAIN + "# unit: ell\n", "table, line 6", "“ell” is no known unit"),
    "closure": (PLAIN + "# closure: side\n", "table", "“side” is no known closure"),
    "misspelt word": (PLAIN + "# levels: hip up=1\n", "table, line 6", "“levels” is no word"),
    "level without height": (PLAIN + "# level: hip\n", "table, line 6", "The # level line is not complete"),
    "level of two heights": (PLAIN + "# level: hip up=1 down=1\n", "table, line 6", "The # level line is not complete"),
    "level off the paper": (PLAIN + "# level: hip down=9\n", "table, line 6", "The level hip misses the paper"),
    "station": (PLAIN + "# level: hips down=1\n", "table, line 6", "“hips” is no known station"),
    "cut": (PLAIN + "# cut: front\n", "table, line 6", "The # cut line is not complete"),
    "unknown piece": (PLAIN + "# cut: back pair\n", "table, line 6", "no piece “back”"),
    "seam": (PLAIN + "# seam: side front back\n", "table, line 6", "The # seam line is not complete"),
    "seam of nothing": (PLAIN + "# seam: a front/x front/side\n", "table, seam a", "has no edge “x”"),
    "channel": (PLAIN + "# channel: front f1 2,0 2,3\n", "table, line 6", "The # channel line is not complete"),
    "channel point": (PLAIN + "# channel: front f1 width=3/8 2 3\n", "table, line 6", "is not complete"),
    "slit": (PLAIN + "# slit: front s1 2,-3\n", "table, line 6", "The # slit line is not complete"),
    "landmark": (PLAIN + "# landmark: front b\n", "table, line 6", "The # landmark line is not complete"),
    "landmark length": (PLAIN + "# landmark: front b 2,x\n", "table, line 6", "“x” is not a length"),
    "grain": (PLAIN + "# grain: front 1,2\n", "table, line 6", "The # grain line is not complete"),
    "notch": (PLAIN + "# notch: front 3\n", "table, line 6", "The # notch line is not complete"),
    "notch too far": (PLAIN + "# notch: front/side 30\n", "table, piece front, notch 1", "762.0 mm"),
    "no words": (PLAIN + "# channel:\n# notch:\n# grain:\n", "table, line 7", "is not complete"),
    "no name": (PLAIN + "# name:\n", "table, line 6", "is not complete"),
    "long line": (PLAIN + "x" * 5000, "table, line 6", "The line has 0 cells"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_of_a_table_is_refused_with_its_line(fault: str) -> None:
    text, where, what = FAULTS[fault]
    found = mistakes(text)
    assert where in [place for place, words in found if what in words], found


def test_all_mistakes_of_a_table_come_at_once() -> None:
    text = PLAIN.replace("2,5,7", "2,five,7").replace("8,corner", "8,bend") + "# level: hip\n"
    assert [place for place, _ in mistakes(text)] == ["table, line 6", "table, line 3, out", "table, line 4"]


CLOCKWISE = f"""{HEADING}
front,centre-front,fold,1,0,8,corner
front,neck,top,2,5,7,corner
front,side,seam,3,5,-3,corner
front,hem,bottom,4,0,-3,corner
"""


def test_a_table_written_clockwise_is_turned_and_says_so() -> None:
    made = bring_table(CLOCKWISE + "# notch: front/side 3\n")
    front, plain = made.settled().pieces[0], read_table(PLAIN).pieces[0]
    assert {e.name: e.role for e in front.edges} == {e.name: e.role for e in plain.edges}
    assert {e.name: (e.start, e.end) for e in front.edges} == {e.name: (e.start, e.end) for e in plain.edges}
    assert front.notches[0].at == pytest.approx(7 * 25.4), "she counted from the top"
    assert "go round clockwise" in " ".join(made.said)


def test_semicolons_decimal_commas_blank_cells_and_columns_in_any_order_are_read() -> None:
    rows = [line.split(",") for line in PLAIN.replace("5,7,", "5.0,7.00,").strip().splitlines()]
    text = ["# unit: in;;;;;"]
    for n, (piece, name, role, _, out, up, kind) in enumerate(rows):
        cells = [kind, up, out, role, name if n < 2 or rows[n - 1][1] != name else "", piece if n < 2 else "", ""]
        text.append(";".join(cell.replace(".", ",") for cell in cells))
    assert read_table("\n".join(text)).pieces == read_table(PLAIN).pieces


def test_a_unit_told_beside_the_table_may_not_contradict_it() -> None:
    assert bring_table(PLAIN, "table", Terms("cm", is_told=True)).settled().pieces[0].edges[0].end.x == 50.0
    with pytest.raises(FitError, match="says that it is in in, and --unit says cm"):
        bring_table("# unit: in\n" + PLAIN, "table", Terms("cm", is_told=True))


def test_a_table_in_centimetres_is_not_read_silently_in_inches() -> None:
    believable = Believable(waist=(400.0, 1270.0), height=(150.0, 900.0))
    text = HEADING + "".join(
        f"\n{name},{edge},{role},,{x},{y},corner"
        for name, left, first in (("front", 0, "opening"), ("back", 20, "seam"))
        for edge, role, x, y in (
            ("hem", "bottom", left + 17, -12), ("behind", "lacing" if left else "seam", left + 17, 18),
            ("over", "top", left, 18), ("before", first, left, -12),
        )
    )  # fmt: skip
    asked = bring_table(text, "table", Terms("in", believable=believable)).asks
    assert [one.code for one in asked] == ["sure-waist"]
    assert "say --unit cm" in asked[0].remedy
    made = bring_table(text, "table", Terms("cm", True, believable))
    assert (made.asks, round(made.girths_mm["waist"])) == ((), 680)
    assert [(one.seam.a, one.seam.b) for one in made.seams] == [(("front", "behind"), ("back", "before"))]


def test_a_table_measured_from_the_hem_has_no_waist_at_0() -> None:
    lifted = "\n".join(
        ",".join([*row[:5], str(float(row[5]) + 3.0), row[6]]) if n else ",".join(row)
        for n, row in enumerate(line.split(",") for line in PLAIN.strip().splitlines())
    )
    asked = bring_table(lifted).asks
    assert [one.code for one in asked] == ["no-waist"]
    assert "# level: waist up=" in asked[0].remedy
    assert read_table(lifted + "\n# level: waist up=3\n").pieces[0].levels["waist"][0].y == pytest.approx(76.2)


BEGUN = f"""{HEADING}
front,hem,bottom,1,0,-3,corner
front,side,seam,2,5,-3,corner
front,side,seam,3,4,0,curve
front,neck,top,4,5,7,corner
front,centre-front,fold,5,0,8,corner
"""


def test_edges_that_begin_at_their_own_first_corner_are_not_shifted() -> None:
    made = bring_table(BEGUN)
    assert made.said[0].startswith("The rows of each edge begin at its own first corner")
    (front,) = made.settled().pieces
    assert front.edge("hem").start == pytest.approx((0, -3 * 25.4))
    assert front.edge("hem").end == pytest.approx((5 * 25.4, -3 * 25.4))
    assert front.edge("side").end == pytest.approx((5 * 25.4, 7 * 25.4))
    assert edge_length(front.edge("centre-front")) == pytest.approx(11 * 25.4)


def test_the_same_points_written_either_way_are_one_pattern() -> None:
    ended = f"""{HEADING}
front,hem,bottom,1,5,-3,corner
front,side,seam,2,4,0,curve
front,side,seam,3,5,7,corner
front,neck,top,4,0,8,corner
front,centre-front,fold,5,0,-3,corner
"""
    assert to_json(read_table(BEGUN)) == to_json(read_table(ended))


def test_a_clockwise_table_whose_edges_begin_at_their_own_corner_is_read() -> None:
    turned = f"""{HEADING}
front,centre-front,fold,1,0,-3,corner
front,neck,top,2,0,8,corner
front,side,seam,3,5,7,corner
front,side,seam,4,4,0,curve
front,hem,bottom,5,5,-3,corner
"""
    (front,) = read_table(turned).pieces
    (plain,) = read_table(BEGUN).pieces
    assert {e.name: round(edge_length(e), 6) for e in front.edges} == {
        e.name: round(edge_length(e), 6) for e in plain.edges
    }


def test_edges_without_roles_are_told_apart_by_their_names() -> None:
    rows = [line.split(",") for line in BEGUN.splitlines()]
    bare = "\n".join(",".join(row[:2] + row[3:]) for row in rows)
    (front,) = bring_table(bare).proposal.pieces
    assert front.piece.edge("hem").role == "bottom"
