"""What a drawing tells of itself: the girth as the pattern then measures, and the height at which a length is taken."""

from __future__ import annotations

from typing import Any

import pytest
from drawing_bench import IN, USUAL, alteration, girth, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import bounds, garment_girth
from diagnose.pattern.outline import Pattern, Point
from diagnose.plan.drawing import draw
from diagnose.plan.drawing.half import halves_of
from diagnose.plan.drawing.named_places import place_named
from diagnose.plan.wanted import Wanted
from diagnose.plan.ways import fell_short

TOP, HEM = 8 * IN, -6 * IN
GORE = {"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}}


def by_length(mm: float = IN / 2, **move: str) -> Wanted:
    return length(alteration({key.replace("_", "-"): value for key, value in move.items()}, kind="length"), mm)


@pytest.mark.parametrize(
    "item",
    [
        by_length(do="bust-shift", way="up-down"),
        by_length(do="bust-shift", way="in-out"),
        by_length(do="waist-slide"),
        by_length(do="split-share"),
        by_length(do="bust-slash", way="spread"),
        by_length(do="back-wedge", station="waist", way="out"),
        length(alteration({"do": "bust-over-seam", "way": "enlarge", "length_part": "0.75"}, kind="length"), IN / 2),
        girth(alteration({"do": "lacing-edge"}), dict.fromkeys(STATIONS, IN / 2)),
        girth(alteration(GORE), {"hip": -IN / 2, "bottom": -IN}),
        girth(alteration(GORE, kind="length"), {"hip": -IN / 2, "bottom": -IN}),
    ],
    ids=lambda item: "-".join(
        str(word) for key, word in item.alteration.does[0].model_dump(exclude_none=True).items() if key != "by"
    ),
)
@pytest.mark.parametrize("side", ["both", "left"])
def test_the_change_of_girth_told_is_the_one_the_drawn_pattern_measures(
    item: Wanted, side: Any, corset: Pattern, settings: Settings
) -> None:
    drawn = draw(replace(item, side=side), corset, settings)
    assert drawn.pattern is not None
    assert told(drawn), drawn.notes
    changes = {s: (garment_girth(corset, s) or 0.0) - (garment_girth(drawn.pattern, s) or 0.0) for s in STATIONS}
    assert max(map(abs, changes.values())) > 0.05, "the pattern measures otherwise somewhere"
    assert dict(drawn.profile) == pytest.approx(changes, abs=1e-3)


@pytest.mark.parametrize(("place", "direction"), [("underarm", "down"), ("front-hem", "up"), ("back-top", "up")])
def test_a_redrawn_top_or_bottom_edge_leaves_the_girth_told_as_it_was(
    place: str, direction: str, corset: Pattern, settings: Settings
) -> None:
    drawn = draw(by_length(do="edge", place=place, direction=direction), corset, settings)
    assert told(drawn), drawn.notes
    assert dict(drawn.profile) == dict.fromkeys(STATIONS, 0.0)


@pytest.mark.parametrize("way", ["shorten", "lengthen"])
@pytest.mark.parametrize(
    ("offset", "stay", "go"),
    [
        ("2 in", (0.0, IN), (3 * IN, 5 * IN)),
        ("4 in", (IN, 3 * IN), (5 * IN,)),
        ("-2 in", (0.0, -IN), (-3 * IN, -5 * IN)),
    ],
)
def test_a_length_is_taken_at_its_own_height_off_the_waist_which_stays(
    way: str, offset: str, stay: tuple[float, ...], go: tuple[float, ...], settings: Settings
) -> None:
    pattern = panels(100, 100)
    first = pattern.pieces[0]
    marks = {f"m{number}": Point(50.0, y) for number, y in enumerate((*stay, *go))}
    pattern = pattern.with_piece(replace(first, landmarks=marks))
    drawn = draw(by_length(do="length", station="waist", offset=offset, way=way), pattern, settings)
    assert drawn.pattern is not None
    made = drawn.pattern.pieces[0]
    nearer = -1.0 if way == "shorten" else 1.0
    for name, at in marks.items():
        moved = nearer * IN / 2 * (1.0 if at.y > 0.0 else -1.0) if at.y in go else 0.0
        assert made.landmarks[name].y - at.y == pytest.approx(moved, abs=0.01), at
    size = [box.top - box.bottom for box in (bounds(first), bounds(made))]
    assert size[1] - size[0] == pytest.approx(nearer * IN / 2, abs=0.01)


def test_two_pieces_without_seams_are_a_half_of_two() -> None:
    half = halves_of(replace(panels(90, 110), seams=()), "both", USUAL)[0]
    assert [piece.name for piece in half.pieces] == ["panel-1", "panel-2"]
    assert [(join.front, join.back) for join in half.seams[0]] == [(("panel-1", "back"), ("panel-2", "front"))]
    assert half.shares() == pytest.approx((0.45,))


@pytest.mark.parametrize(
    ("name", "start", "peak", "end"), [("side-top", 88.0, 144.0, 200.0), ("armhole-front", 144.0, 172.0, 200.0)]
)
def test_a_place_that_begins_along_the_line_rises_from_its_own_beginning(
    name: str, start: float, peak: float, end: float
) -> None:
    # geometry: of 400 mm the bust stands at 22 %, the underarm at 50 %
    place = place_named(halves_of(panels(400.0), "both", USUAL)[0], name)
    up, down = (peak - start) / 4.0, (end - peak) / 4.0
    stops = [start - 10.0, start, start + up, start + 2 * up, peak, peak + 2 * down, peak + 3 * down, end, end + 10.0]
    parts = [0.0, 0.0, 0.15625, 0.5, 1.0, 0.5, 0.15625, 0.0, 0.0]
    assert [place.part_at(s) for s in stops] == pytest.approx(parts)


def test_of_a_length_the_levels_have_no_room_for_as_much_is_drawn_as_there_is_and_said(settings: Settings) -> None:
    move = {"do": "length", "station": "waist", "offset": "2 1/2 in", "way": "shorten"}
    item = length(alteration(move, kind="length"), 1.5 * IN)
    drawn = draw(item, panels(120.0, 110.0, top_mm=4.25 * IN), settings)
    assert drawn.amount.length_mm == pytest.approx(1.125 * IN)
    assert fell_short(item, drawn.amount)
    said = list(notes_said(drawn.notes, {}))
    assert any(note.startswith("1 1/8 in (29 mm) is drawn, not the 1 1/2 in (38 mm)") for note in said), said
    assert drawn.pattern is not None
    again = draw(item, drawn.pattern, settings)
    assert again.operations == ()
    assert "The most there is room for is about 1/16 in" in " ".join(notes_said(again.notes, {}))


def test_a_maker_who_leaves_more_between_two_levels_has_less_drawn(settings: Settings) -> None:
    move = {"do": "length", "station": "waist", "offset": "2 1/2 in", "way": "shorten"}
    item, paper = length(alteration(move, kind="length"), 1.5 * IN), panels(120.0, 110.0, top_mm=4.25 * IN)
    drawn = draw(item, paper, settings.with_value("levels-apart-least", IN))
    assert drawn.amount.length_mm == pytest.approx(0.875 * IN)
