"""What a drawing says and where it sets things when there is more than one answer: figures worked by hand."""

from __future__ import annotations

import pytest
from drawing_bench import FULL, IN, USUAL, alteration, girth, length, over_all_seams, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.outline import Channel, Pattern, Point
from diagnose.plan.drawing import draw
from diagnose.plan.drawing.half import halves_of
from diagnose.plan.drawing.slides import Upright
from diagnose.plan.drawing.verbs.slid_shapes import apex_place

EVERYWHERE = alteration({"do": "seams", "which": "all", "by": FULL})


def test_what_the_pattern_refuses_is_not_drawn_and_its_reason_and_remedy_are_passed_on(
    corset: Pattern, settings: Settings
) -> None:
    drawn = draw(girth(alteration({"do": "lacing-edge"}), dict.fromkeys(STATIONS, 2 * IN), "left"), corset, settings)
    assert (told(drawn), drawn.pattern) == ((), corset)
    (note,) = notes_said(drawn.notes, {})
    assert note.startswith("Not drawn on the pattern. Channel 8 lies off the left sixth panel.")
    assert "The most there is room for" in note


@pytest.mark.parametrize(
    ("stations", "named"),
    [(("top",), "top"), (("top", "waist"), "top and waist"), (("top", "underbust", "hip"), "top, underbust and hip")],
)
def test_stations_that_are_drawn_alike_are_told_in_one_sentence_and_lines_left_alone_too(
    stations: tuple[str, ...], named: str, settings: Settings
) -> None:
    # 1/16 in of a half over four lines: it goes on one line, and nothing on the other three
    profile = {station: IN / 8 for station in STATIONS if station in stations}
    (note,) = notes_said(draw(girth(EVERYWHERE, profile), panels(90, 90, 90), over_all_seams(settings)).notes, {})
    assert note.startswith(f"At the {named} draw nothing on ")
    nothing, some = note.removeprefix(f"At the {named} draw ").removesuffix(".").split("; ")
    assert nothing.count(" panel, ") == 3
    assert some.startswith("1/16 in (1.5 mm) inwards on ")
    assert some.count(" panel, ") == 1


def test_a_fold_is_as_wide_at_each_level_as_asked_there_and_runs_on_evenly_to_both_edges(settings: Settings) -> None:
    # 1/2 in at the top level, 1/4 in at the waist 198.2 mm below it; 5 mm more paper above, 152.4 mm below the waist
    fold = alteration({"do": "panel-fold", "where": "side", "by": {"top": "full", "waist": "full"}})
    drawn = draw(girth(fold, {"top": IN, "waist": IN / 2}), panels(400.0), settings)
    (op,) = told(drawn)
    per_mm = IN / 4 / 198.2
    wanted = IN / 2 + 5.0 * per_mm, IN / 4 - 152.4 * per_mm
    assert (op["amount_from"], op["amount_to"]) == pytest.approx(wanted, abs=0.01)


def test_a_channel_is_added_in_the_widest_space_near_the_place_not_in_a_wider_one_far_off(settings: Settings) -> None:
    # the place stands 44 mm from the front: from 120 mm on a space is more than 3 in away
    pattern = panels(400.0)
    bones = tuple(
        Channel(f"f{n}", (Point(x, -140.0), Point(x, 190.0)), 9.5) for n, x in enumerate((20, 50, 110, 125, 390))
    )
    boned = pattern.with_piece(replace(pattern.pieces[0], channels=bones))
    move = {"do": "channels", "what": "add", "place": "front-top"}
    ((new,),) = [op["add"] for op in told(draw(length(alteration(move, kind="length"), 0.0), boned, settings))]
    assert new["line"] == [[80.0, -140.0], [80.0, 190.0]]


def test_the_fullest_place_of_an_edge_is_beside_its_own_panels_mark_and_else_beside_the_others() -> None:
    pattern = panels(100, 100, 100)
    marks = {"panel-1": 4.5 * IN, "panel-2": 6 * IN}
    for name, y in marks.items():
        piece = pattern.piece(name)
        pattern = pattern.with_piece(replace(piece, landmarks={"bust-point": Point(piece.edge("hem").end.x - 20.0, y)}))
    half = halves_of(pattern, "both", USUAL)[0]
    places = {
        name: apex_place(half, Upright(half.piece(name), half.piece(name).edge(edge)))
        for name, edge in (("panel-1", "back"), ("panel-2", "front"), ("panel-3", "front"))
    }
    low = 6 * IN
    assert places == pytest.approx({"panel-1": low + 4.5 * IN, "panel-2": low + 6 * IN, "panel-3": low + 4.5 * IN})
