"""A new case as it is brought: the file's own unit, what no file holds, and what is told of the wearer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from room_here import Browser, Served, served

from diagnose import casebook
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.measure import garment_girth
from diagnose.places import bundled_cases

TABLE = bundled_cases() / "patterns" / "underarm-panels.csv"
EDGE = "-" * 20


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    with served(tmp_path) as room:
        yield room


def bring(browser: Browser, file: Path, **fields: str) -> str:
    """Where a file that is sent leads to."""
    parts = [f'--{EDGE}\r\ncontent-disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
             for name, text in fields.items()]  # fmt: skip
    head = f'--{EDGE}\r\ncontent-disposition: form-data; name="file"; filename="{file.name}"\r\n\r\n'.encode()
    body = b"".join([*parts, head, file.read_bytes(), f"\r\n--{EDGE}--\r\n".encode()])
    answer, _ = browser.ask("/new", body=body, content_type=f"multipart/form-data; boundary={EDGE}")
    return answer.getheader("location") or ""


def test_a_table_in_inches_is_read_in_inches_by_her_who_measures_in_centimetres(room: Served) -> None:
    browser = Browser(room)
    begun = bring(browser, TABLE, case="Lena, grey stays", unit="cm")
    _, text = browser.ask(begun)
    assert "\N{NO-BREAK SPACE}cm" in text
    assert browser.led_to(f"{begun}/start", {}) == "/case/Lena%2C%20grey%20stays"
    case = casebook.open_case(room.folder / "Lena, grey stays")
    assert case.unit == "cm"
    waist = garment_girth(load_pattern(TABLE), "waist")
    assert garment_girth(case.pattern, "waist") == pytest.approx(waist, abs=0.01)


def test_the_draft_is_held_against_her_heights_in_words_without_a_stored_name(room: Served) -> None:
    browser = Browser(room)
    begun = bring(browser, TABLE, case="Lena, grey stays", unit="in")
    girths = {"girth-bust": "37 in", "girth-underbust": "32 in", "girth-waist": "26 in", "girth-hip": "38 in"}
    browser.ask(f"{begun}/say", {"says": "about", **girths})
    _, text = browser.ask(begun)
    held = text[text.index('id="draft-part"') :]
    assert "underarm to waist" in held
    assert "underarm_to_waist" not in held
    browser.ask(f"{begun}/say", {"says": "about", **girths, "girth-underarm_to_waist": "8 in"})
    _, text = browser.ask(begun)
    assert "pit of the arm" in text[text.index('id="draft-part"') :]
    assert 'value="8 in"' in text


def test_a_height_that_is_no_length_is_said_and_nothing_is_kept(room: Served) -> None:
    browser = Browser(room)
    begun = bring(browser, TABLE, case="Lena, grey stays", unit="in")
    answer, text = browser.ask(f"{begun}/say", {"says": "about", "girth-waist_to_hip": "a hand"})
    assert answer.status == 422
    assert "“a hand” is not a length." in text
    assert 'value="a hand"' not in browser.ask(begun)[1]
