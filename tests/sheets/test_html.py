"""The fitting sheet as a page."""

from __future__ import annotations

import pytest
from made_up import HOSTILE, answers, diagnosis, sheet, stopped
from msgspec.structs import replace
from page_read import Page

from diagnose.pattern.outline import Pattern
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.view import build_view
from diagnose.sheets.view_model import Tried
from diagnose.sheets.words.wording import NEARLY
from diagnose.sheets.writers.html import write_html


def whole(text: str) -> Page:
    """The page read, in which every tag is closed in its turn."""
    page = Page(text)
    assert page.wrong == []
    return page


@pytest.fixture
def page(base: RuleBase, bodies: Pattern) -> Page:
    return whole(write_html(sheet(base, bodies)))


def test_the_answer_stands_first_and_the_parts_follow_in_order(page: Page) -> None:
    assert page.headings == [
        "A singer's bodies", "Do this first", "What the try-on shows", "The lacing gap", "Why",
        "The pattern, before and after", "With ruler and pencil", "What the next try-on should show",
        "Held back, and why", "Look, measure, and answer", "Taken for granted", "Cautions",
    ]  # fmt: skip


def test_nothing_is_fetched_and_no_script_runs(base: RuleBase, bodies: Pattern) -> None:
    text = write_html(sheet(base, bodies))
    page = whole(text)
    assert "http:" not in text
    assert "https:" not in text
    assert "url(" not in text
    assert "@import" not in text
    assert not {tag for tag, _ in page.tags} & {"script", "link", "img", "iframe", "object"}
    assert not any(name.startswith("on") or name in ("src", "href") for _, attrs in page.tags for name in attrs)


def test_the_big_figure_and_each_stations_share_are_there(page: Page) -> None:
    assert "7/8 in (22 mm) to take in on each half" in page.text
    assert "waist take in 3/4 in (19 mm)" in page.text


def test_findings_name_side_and_amount_and_what_was_not_there(page: Page, base: RuleBase) -> None:
    title = base.entries.symptoms["digs-under-arm"].title
    assert f"{title}: 5/8 in (16 mm) · right side" in page.text
    assert f"Looked for and not there: {base.entries.symptoms['hem-flares'].title}." in page.text


def test_a_cause_says_how_sure_and_what_speaks_for_and_against(page: Page, base: RuleBase) -> None:
    assert "almost sure · 93 in 100" in page.text
    assert f"For: {base.entries.symptoms['slides-down'].title} strongly" in page.text
    absent = base.entries.symptoms["gap-narrowest-at-waist"].title
    assert f"Against: Not there: {absent[0].lower()}{absent[1:]} a little" in page.text


def test_every_step_has_a_box_to_tick_with_a_name(page: Page) -> None:
    boxes = [attrs for tag, attrs in page.tags if tag == "input"]
    assert len(boxes) == page.text.count(" done") >= 5


def test_every_picture_is_named_or_hidden_from_readers(page: Page) -> None:
    pictures = [attrs for tag, attrs in page.tags if tag == "svg"]
    assert len(pictures) >= 6
    assert all(p.get("aria-label") or p.get("aria-hidden") == "true" for p in pictures)


def test_hostile_names_stay_text(base: RuleBase, bodies: Pattern) -> None:
    named = replace(bodies, name=HOSTILE)
    text = write_html(sheet(base, named, HOSTILE))
    page = whole(text)
    assert "script" not in {tag for tag, _ in page.tags}
    assert "<script>" not in text
    assert "<script>alert('x')</script>" in page.text


def test_a_stop_flag_leaves_only_what_to_do_now(base: RuleBase) -> None:
    tryon = answers(base)
    view = build_view(Tried("Stopped", tryon, stopped(base, tryon), base, "in", "2026-03-09", ""))
    page = whole(write_html(view))
    assert page.headings[1] == "Stop. Unlace now."
    assert "Do this first" not in page.headings
    assert "With ruler and pencil" not in page.headings
    assert base.entries.symptoms["breath-short"].title in page.text
    assert "Undo the lace and the front at once" in page.text


def test_without_a_pattern_the_rules_own_sentences_are_given_with_the_figures(base: RuleBase) -> None:
    tryon = answers(base)
    view = build_view(Tried("Bare", tryon, diagnosis(base, tryon), base, "in", "2026-03-09", ""))
    assert view.pattern_picture is None
    assert len(view.steps) == len(base.entries.alterations["fold-out-in-panel"].by_hand)
    assert not any("{" in step.text for step in view.steps)


def test_with_no_cause_the_sheet_says_that_nothing_fits(base: RuleBase) -> None:
    tryon = answers(base)
    bare = replace(diagnosis(base, tryon), causes=(), rounds=())
    view = build_view(Tried("Nothing", tryon, bare, base, "in", "2026-03-09", ""))
    assert "Nothing that was seen calls for an alteration." in whole(write_html(view)).text


def test_the_makers_unit_is_used_throughout(base: RuleBase) -> None:
    tryon = answers(base)
    view = build_view(Tried("Metric", tryon, diagnosis(base, tryon), base, "mm", "2026-03-09", ""))
    text = whole(write_html(view)).text
    assert "22 mm to take in on each half" in text
    assert view.gap[0].read == "32 mm"


def test_chances_that_are_only_near_are_said_to_be_near(base: RuleBase) -> None:
    tryon = answers(base)
    near = replace(diagnosis(base, tryon), exact=False)
    view = build_view(Tried("Near", tryon, near, base, "in", "2026-03-09", ""))
    assert NEARLY in whole(write_html(view)).text
