from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from stored_forms import panel_json, pattern_json

from diagnose.errors import FitError
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import dump_text, to_json
from diagnose.pattern.outline import Pattern, Point


def test_the_bundled_patterns_come_back_as_they_were(bodies: Pattern, corset: Pattern) -> None:
    for pattern in (bodies, corset):
        assert read_pattern(json.loads(dump_text(pattern))) == pattern


def test_writing_twice_gives_the_same_text(awkward: Pattern) -> None:
    text = dump_text(awkward)
    assert dump_text(read_pattern(json.loads(text))) == text


def test_lengths_are_rounded_to_a_millionth_and_minus_nought_is_nought(rectangle: Pattern) -> None:
    piece = replace(rectangle.pieces[0], landmarks={"a": Point(1 / 3, -1e-9)})
    written: Any = to_json(rectangle.with_piece(piece))
    assert json.dumps(written["pieces"][0]["landmarks"]["a"]) == "[0.333333, 0]"


def test_the_text_has_one_step_a_line_and_is_strict_json(raw: dict[str, Any]) -> None:
    raw["pieces"][0]["edges"][2]["path"] = [["L", 60, 205], ["C", 50, 206, 20, 204, 0, 200]]
    text = dump_text(read_pattern(raw))
    lines = [line.strip() for line in text.splitlines()]
    assert '["L", 60, 205],' in lines
    assert '["C", 50, 206, 20, 204, 0, 200]' in lines
    assert '{"name": "f1", "line": [[60, -90], [60, 190]], "width": 9.5}' in " ".join(lines)
    assert max(map(len, lines)) <= 110
    assert text.endswith("}\n")
    json.loads(text, parse_constant=lambda word: pytest.fail(word))


def test_what_a_piece_has_none_of_is_left_out(rectangle: Pattern) -> None:
    written: Any = to_json(rectangle)
    assert list(written["pieces"][0]) == ["name", "cut", "side", "start", "edges", "levels"]


def test_an_added_key_of_a_mark_that_is_gone_goes_with_it(raw: dict[str, Any]) -> None:
    raw["pieces"][0]["channels"][0]["bone"] = "flat"
    pattern = read_pattern(raw)
    bare = pattern.with_piece(replace(pattern.piece("front"), channels=()))
    assert "flat" not in dump_text(bare)


def test_letters_of_any_script_are_written_as_they_are(raw: dict[str, Any]) -> None:
    raw["name"] = "étude №1"
    assert '"étude №1"' in dump_text(read_pattern(raw))


def test_a_pattern_with_a_length_that_is_no_number_is_not_written(rectangle: Pattern) -> None:
    broken = rectangle.with_piece(replace(rectangle.pieces[0], landmarks={"a": Point(float("nan"), 0)}))
    with pytest.raises(FitError, match="not a finite number"):
        dump_text(broken)


@settings(max_examples=60, deadline=None)
@given(
    wide=st.floats(5, 2000), tall=st.floats(5, 2000), left=st.floats(-500, 500), bottom=st.floats(-500, 500),
    bulge=st.floats(-0.3, 0.3),
)  # fmt: skip
def test_any_panel_comes_back_within_a_millionth(
    wide: float, tall: float, left: float, bottom: float, bulge: float
) -> None:
    raw = panel_json("p", left, left + wide, bottom, bottom + tall)
    right, middle = left + wide, bottom + tall / 2
    raw["edges"][1]["path"] = [
        ["C", right + bulge * wide, bottom, right + bulge * wide, middle, right, bottom + tall],
    ]  # fmt: skip
    raw["levels"] = {}
    pattern = read_pattern(pattern_json(raw))
    again = read_pattern(to_json(pattern))
    for edge, other in zip(pattern.pieces[0].edges, again.pieces[0].edges, strict=True):
        assert other.end == pytest.approx(edge.end, abs=1e-6)
        assert other.segments[0].start == pytest.approx(edge.segments[0].start, abs=1e-6)
