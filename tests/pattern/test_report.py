from __future__ import annotations

import json

import pytest
from msgspec.structs import replace
from stored_forms import two_panels_json

from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.outline import Line, Pattern, Point
from diagnose.pattern.report import Change, change_report


def widened(pattern: Pattern, by_mm: float) -> Pattern:
    """The front's back edge let out, its level and hem with it; the seam partner stays."""
    front = pattern.piece("front")
    hem, back, top, inner = front.edges
    low, high = Point(120 + by_mm, -100), Point(120 + by_mm, 202)
    edges = (
        replace(hem, segments=(Line(hem.start, low),)),
        replace(back, segments=(Line(low, high),)),
        replace(top, segments=(Line(high, top.end),)),
        inner,
    )
    channel = replace(front.channels[0], line=(Point(60, -90), Point(60, 180)))
    return pattern.with_piece(replace(front, edges=edges, levels={"waist": (Point(0, 0), low)}, channels=(channel,)))


def test_an_unchanged_pattern_reports_no_change(corset: Pattern) -> None:
    report = change_report(corset, corset)
    assert (report.added, report.removed) == ((), ())
    assert {change.by for change in report.girths.values()} == {0.0}
    assert {change.by for piece in report.pieces.values() for change in piece.widths.values()} == {0.0}
    assert list(report.girths) == ["top", "underbust", "waist", "hip", "bottom"]


def test_every_measure_stands_before_and_after() -> None:
    before = read_pattern(two_panels_json())
    after = widened(before, 10)
    front = replace(after.piece("front"), levels={"waist": (Point(0, 0), Point(130, 0))})
    report = change_report(before, after.with_piece(front))
    assert report.pieces["front"].area.before == pytest.approx(36_000)
    assert report.pieces["front"].area.by == pytest.approx(130 * 300 + 130 * 2 / 2 - 36_000)
    assert report.pieces["front"].widths["waist"] == Change(120.0, 130.0)
    assert report.girths["waist"] == Change(440.0, 460.0)
    assert report.pieces["front"].channels["f1"] == Change(280.0, 270.0)
    assert report.pieces["front"].slits["s1"].by == 0.0
    assert report.seams["side"].after == pytest.approx(2.0)
    assert report.pieces["back"].area.by == 0.0


def test_pieces_and_marks_that_come_or_go_have_one_side_only() -> None:
    before = read_pattern(two_panels_json())
    gore = replace(before.piece("back"), name="gore-1")
    front = replace(before.piece("front"), channels=())
    after = replace(before, pieces=(front, gore), seams=())
    report = change_report(before, after)
    assert (report.added, report.removed) == (("gore-1",), ("back",))
    assert report.pieces["gore-1"].area == Change(None, 30_000.0)
    assert report.pieces["front"].channels["f1"].by is None
    assert report.seams["side"] == Change(0.0, None)


def test_the_report_as_json_names_its_units() -> None:
    before = read_pattern(two_panels_json())
    written = change_report(before, widened(before, 1 / 3)).to_json()
    front = json.loads(json.dumps(written, allow_nan=False))["pieces"]["front"]
    assert front["area"].keys() == {"before_mm2", "after_mm2", "by_mm2"}
    assert front["channels"]["f1"] == {"before_mm": 280.0, "after_mm": 270.0, "by_mm": -10.0}
    assert written["seam_differences"]["side"]["after_mm"] == 2.0  # type: ignore[index]
