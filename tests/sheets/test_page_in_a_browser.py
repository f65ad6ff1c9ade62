"""The page in a real browser: it fits a telephone and a desk, and reads in black and white."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from made_up import sheet
from msgspec.structs import replace

from diagnose.pattern.outline import Pattern
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.writers.html import write_html

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page_file(base: RuleBase, bodies: Pattern, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("page") / "sheet.html"
    file.write_text(write_html(sheet(base, bodies)), encoding="utf-8")
    return file


@pytest.mark.parametrize(("width", "height"), [(390, 844), (900, 800), (1000, 800), (1280, 800)])
def test_nothing_sticks_out_sideways(browser: Any, page_file: Path, width: int, height: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": height})
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    out = page.evaluate(
        """w => [...document.querySelectorAll('main *')].filter(e => !e.closest('svg') && !e.closest('.hidden')
             && e.getBoundingClientRect().right > w + 1).map(e => e.tagName + ' ' + e.textContent.slice(0, 40))""",
        width,
    )
    assert out == []
    assert asked == [page_file.as_uri()]
    page.close()


@pytest.mark.parametrize("width", [390, 820, 900, 1440])
def test_a_long_table_of_marks_keeps_off_the_picture_beside_it(
    base: RuleBase, bodies: Pattern, browser: Any, tmp_path: Path, width: int
) -> None:
    view = sheet(base, bodies)
    rows = tuple((f"{n} at {n} 15/16 in (1{n}0 mm)", "3/8 in (10 mm) in") for n in range(1, 10))
    file = tmp_path / "sheet.html"
    file.write_text(write_html(replace(view, steps=(replace(view.steps[0], table=rows),))), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto(file.as_uri())
    out = page.evaluate(
        """() => [...document.querySelectorAll('ol.hand .work')].flatMap(work => [...work.querySelectorAll('th, td')]
             .filter(cell => cell.getBoundingClientRect().right > work.getBoundingClientRect().right + 1
                 || cell.scrollWidth > cell.clientWidth + 1).map(cell => cell.textContent))"""
    )
    assert page.locator("ol.hand td").count() == len(rows)
    page.close()
    assert out == []


def test_a_step_can_be_ticked_off(browser: Any, page_file: Path) -> None:
    page = browser.new_page()
    page.goto(page_file.as_uri())
    box = page.get_by_label("Step 1 done")
    box.check()
    assert box.is_checked()
    page.close()


def test_it_prints_with_the_pattern_on_a_page_of_its_own(browser: Any, page_file: Path) -> None:
    page = browser.new_page()
    page.goto(page_file.as_uri())
    page.emulate_media(media="print")
    breaks = page.evaluate("[...document.querySelectorAll('.own-page')].map(e => getComputedStyle(e).breakBefore)")
    assert breaks == ["page", "page"]
    assert page.pdf(format="A4").startswith(b"%PDF")
    page.close()


def test_the_wall_sheet_is_printed_first_alone_and_whole(browser: Any, page_file: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    page = browser.new_page()
    page.goto(page_file.as_uri())
    page.emulate_media(media="print")
    beyond = page.evaluate(
        """() => { const wall = document.querySelector('.wall svg'), edge = wall.getBoundingClientRect();
             return [...wall.querySelectorAll('text')].filter(e => e.getBoundingClientRect().right > edge.right + 1)
               .map(e => e.textContent); }"""
    )
    assert beyond == []
    for paper in ("A4", "Letter"):
        first, second, *_ = pypdf.PdfReader(io.BytesIO(page.pdf(format=paper))).pages
        assert "Do this first" not in first.extract_text()
        assert "Steps" in first.extract_text()
        assert "Do this first" in second.extract_text()
    page.close()
