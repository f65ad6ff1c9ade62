"""The sheet in the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from made_up import HOSTILE, answers, diagnosis, sheet, stopped
from msgspec.structs import replace

from diagnose.pattern.outline import Pattern
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.view import build_view
from diagnose.sheets.view_model import SheetView, Tried
from diagnose.sheets.words.text import brief_lines, plan_lines
from diagnose.sheets.words.wording import NEARLY


def printed(view: SheetView, way: Callable[[SheetView], Iterator[str]] = plan_lines) -> str:
    return "".join(f"{line}\n" for line in way(view))


@pytest.fixture
def text(base: RuleBase, bodies: Pattern) -> str:
    return printed(sheet(base, bodies))


def test_no_line_is_wider_than_eighty_columns(text: str) -> None:
    assert max(len(line) for line in text.splitlines()) <= 80


def test_the_answer_comes_before_what_led_to_it(text: str) -> None:
    places = [text.index(part) for part in ("Do this first", "What the try-on shows", "Why", "With ruler and pencil")]
    assert places == sorted(places)


def test_nothing_depends_on_colour(text: str) -> None:
    assert "\x1b" not in text
    assert "(93 in 100)" in text


def test_what_the_maker_wrote_is_not_taken_for_markup_nor_drives_the_terminal(base: RuleBase, bodies: Pattern) -> None:
    first = printed(sheet(base, bodies, HOSTILE)).splitlines()[0]
    assert "[red]" in first
    assert "\x1b" not in first


def test_a_stop_flag_is_said_first_and_alone(base: RuleBase) -> None:
    tryon = answers(base)
    view = build_view(Tried("Stopped", tryon, stopped(base, tryon), base, "in", "2026-03-09", ""))
    text = printed(view)
    assert "STOP. UNLACE NOW." in text
    assert "Do this first" not in text


@pytest.mark.parametrize("way", [plan_lines, brief_lines])
def test_chances_that_are_only_near_are_said_to_be_near(
    base: RuleBase, bodies: Pattern, way: Callable[[SheetView], Iterator[str]]
) -> None:
    sure = sheet(base, bodies)
    near = replace(sure, near=NEARLY)
    assert NEARLY in " ".join(printed(near, way=way).split())
    assert NEARLY not in " ".join(printed(sure, way=way).split())


def test_the_view_of_a_diagnosis_carries_whether_its_chances_are_near(base: RuleBase) -> None:
    tryon = answers(base)
    found = diagnosis(base, tryon)
    views = [
        build_view(Tried("Near", tryon, one, base, "in", "2026-03-09", ""))
        for one in (found, replace(found, exact=False))
    ]
    assert [view.near for view in views] == ["", NEARLY]
