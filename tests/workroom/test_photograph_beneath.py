"""The straightened photograph lies beneath the pattern that was read from it, in every version and where she alters."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from room_here import Browser, Served, begun, served

from diagnose.casebook.photograph import Photograph

JPEG = b"\xff\xd8\xff\xe0"
PICTURE = Photograph(JPEG, -40.0, -60.0, 900.0, 480.0, within_mm=0.5, said="By the card.")
FIELDS = {"op": "move-edge", "edge": "p2|back-seam", "at-waist": "1/16 in"}


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Served]:
    begun(tmp_path, photograph=PICTURE)
    with served(tmp_path) as room:
        yield room


def _beneath(text: str) -> tuple[bool, list[tuple[float, float]]]:
    """Whether the photograph lies where it was taken, and by how much each piece was moved on the drawing."""
    where = 'href="/case/wren/photograph.jpg" x="-40.000" y="-480.000" width="940.000" height="540.000"'
    moves = re.findall(r'data-dx="([-0-9.]+)" data-dy="([-0-9.]+)"', text)
    return where in text, [(float(dx), float(dy)) for dx, dy in moves]


def test_it_lies_beneath_every_version_and_beneath_an_alteration_by_hand(room: Served) -> None:
    browser = Browser(room)
    assert browser.ask("/case/wren/photograph.jpg")[0].status == 200
    for number in (1, 2):
        case = room.case
        assert case.newest.number == number
        assert _beneath(browser.ask("/case/wren")[1])[0]
        lies, moves = _beneath(browser.ask("/case/wren/alter", FIELDS)[1])
        assert lies
        assert moves
        assert set(moves) == {(0.0, 0.0)}, "a piece that is moved on the drawing no longer lies on its picture"
        if number == 1:
            browser.ask("/case/wren/alter", FIELDS | {"of": "1", "does-keep": "yes"})
