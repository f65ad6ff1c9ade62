"""Width folded out inside a panel where no seam runs."""

from __future__ import annotations

from itertools import combinations

import pytest
from drawing_bench import IN, alteration, girth, panels, told

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS, Station
from diagnose.pattern.form.reader import read_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.pattern.geometry.polylines import line_gap
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import edge_length, mm_of_point, station_width
from diagnose.pattern.moved.shift import is_straight
from diagnose.pattern.outline import Pattern, Point
from diagnose.plan.drawing import draw

LAND_MM = IN / 32
NAMED = {"top": "full", "waist": "full", "bottom": "full"}
FOLD = alteration({"do": "panel-fold", "where": "back", "by": NAMED})
DEMO: dict[Station, float] = {"top": 44.45, "underbust": 41.28, "waist": 38.1, "hip": 19.05, "bottom": 6.35}


def test_the_demo_takes_seven_eighths_three_quarters_and_one_eighth_in_a_half(
    bodies: Pattern, settings: Settings
) -> None:
    drawn = draw(girth(FOLD, DEMO), bodies, settings)
    assert [op["op"] for op in told(drawn)] == ["channels", "fold", "channels", "insert-gore"]
    for station, eighths in (("top", 7), ("waist", 6), ("bottom", 1)):
        assert drawn.profile[station] / 2 == pytest.approx(eighths * IN / 8, abs=LAND_MM), station  # type: ignore[index]
    assert drawn.pattern is not None
    made = drawn.pattern.piece("bodies")
    assert is_straight(made.edge("lacing"))
    assert drawn.pattern.piece("gore-1").cut == "pair"
    read_pattern(to_json(drawn.pattern))


def test_the_fold_leaves_the_front_where_it_was(bodies: Pattern, settings: Settings) -> None:
    drawn = draw(girth(FOLD, DEMO), bodies, settings)
    assert drawn.pattern is not None
    old, new = bodies.pieces[0], drawn.pattern.piece("bodies")
    assert new.edge("centre-front") == old.edge("centre-front")
    assert new.landmarks["bust-point"] == old.landmarks["bust-point"]
    assert new.edge("neck") == old.edge("neck")


def test_the_fold_lies_behind_the_armhole_and_clear_of_the_straps_tab(bodies: Pattern, settings: Settings) -> None:
    drawn = draw(girth(FOLD, DEMO), bodies, settings)
    assert drawn.pattern is not None
    old, new = bodies.pieces[0], drawn.pattern.piece("bodies")
    fold = next(op for op in told(drawn) if op["op"] == "fold")
    assert mm_of_point(old.edge("back-top"), Point(*fold["from"]))[1] == pytest.approx(0.0, abs=1e-3)
    for name in ("armhole", "strap-back-end", "strap-front-end"):
        assert edge_length(new.edge(name)) == pytest.approx(edge_length(old.edge(name))), name


def test_the_one_channel_that_lay_in_the_fold_is_drawn_on_the_closing_line_and_said(
    bodies: Pattern, settings: Settings
) -> None:
    drawn = draw(girth(FOLD, DEMO), bodies, settings)
    assert drawn.pattern is not None
    new = drawn.pattern.piece("bodies")
    assert {c.name for c in new.channels} == {c.name for c in bodies.pieces[0].channels}
    assert [note for note in notes_said(drawn.notes, {}) if "lay in the fold" in note] == [
        "Channel b12 lay in the fold: it is drawn anew on the closing line, and ends 3 5/16 in (84 mm) short of the"
        " lower edge, where its neighbours leave it no room. Cut its bone to that."
    ]
    for one, other in combinations(new.channels, 2):
        assert line_gap(one.line, other.line) >= (one.width + other.width) / 2 - 1e-6, (one.name, other.name)
    again = next(c for c in new.channels if c.name == "b12")
    assert min(line_gap(slit.line, again.line) - again.width / 2 for slit in new.slits) >= IN / 8 - 0.01


def test_one_half_alone_takes_its_own_figure(bodies: Pattern, settings: Settings) -> None:
    half: dict[Station, float] = {station: change / 2 for station, change in DEMO.items()}
    drawn = draw(girth(FOLD, half, side="right"), bodies, settings)
    assert [op["op"] for op in told(drawn)] == [
        "split-sides", "channels", "fold", "channels", "insert-gore",
    ]  # fmt: skip
    for station in ("top", "waist", "bottom"):
        assert drawn.profile[station] == pytest.approx(half[station], abs=LAND_MM)
    assert drawn.pattern is not None
    assert drawn.pattern.piece("bodies-left").edges == bodies.pieces[0].edges
    assert drawn.pattern.piece("gore-1").side == "right"


@pytest.mark.parametrize("change", [IN, -IN, 2 * IN])
def test_a_parallel_fold_takes_the_same_at_every_level(bodies: Pattern, settings: Settings, change: float) -> None:
    drawn = draw(girth(FOLD, dict.fromkeys(STATIONS, change)), bodies, settings)
    assert [op["op"] for op in told(drawn) if op["op"] != "channels"] == ["fold"]
    assert drawn.profile == pytest.approx(dict.fromkeys(STATIONS, change), abs=2 * LAND_MM)


def test_a_lower_edge_too_tight_is_let_out_by_a_gusset_alone(bodies: Pattern, settings: Settings) -> None:
    drawn = draw(girth(FOLD, {"bottom": -IN}), bodies, settings)
    assert [op["op"] for op in told(drawn)] == ["insert-gore"]
    assert drawn.profile["bottom"] / 2 == pytest.approx(-IN / 2, abs=LAND_MM)


def test_a_lower_edge_too_wide_alone_is_not_folded(bodies: Pattern, settings: Settings) -> None:
    drawn = draw(girth(FOLD, {"bottom": IN}), bodies, settings)
    assert told(drawn) == ()
    assert "Lap the edges of the slits" in notes_said(drawn.notes, {})[0]


def test_what_a_straight_fold_cannot_give_is_said(bodies: Pattern, settings: Settings) -> None:
    drawn = draw(girth(FOLD, {"top": IN}), bodies, settings)
    assert drawn.profile["top"] == pytest.approx(IN, abs=LAND_MM)
    assert drawn.profile["waist"] == pytest.approx(0.0, abs=LAND_MM)
    assert any("being straight" in note for note in notes_said(drawn.notes, {}))


def test_without_a_slit_what_is_too_much_at_the_hem_is_said(settings: Settings) -> None:
    drawn = draw(girth(FOLD, {"top": IN, "waist": IN}), panels(12 * IN), settings)
    assert [op["op"] for op in told(drawn)] == ["fold"]
    assert any("no slit to give it back in" in note for note in notes_said(drawn.notes, {}))


def test_a_fold_in_plain_paper_is_exact_and_its_line_square(settings: Settings) -> None:
    pattern = panels(12 * IN)
    drawn = draw(girth(FOLD, dict.fromkeys(STATIONS, IN)), pattern, settings)
    (fold,) = told(drawn)
    assert fold["from"][0] == pytest.approx(fold["to"][0])
    assert (fold["amount_from"], fold["amount_to"]) == pytest.approx((IN / 2, IN / 2))
    assert drawn.pattern is not None
    assert station_width(drawn.pattern.pieces[0], "waist") == pytest.approx(11.5 * IN)


def test_with_seams_the_fold_runs_down_a_panel_behind_the_side(settings: Settings) -> None:
    drawn = draw(girth(FOLD, dict.fromkeys(STATIONS, IN)), panels(80, 80, 120, 60), settings)
    assert told(drawn)[0]["piece"] == "panel-3"
    assert drawn.profile["waist"] == pytest.approx(IN)


def test_the_maker_is_told_where_the_fold_lies(bodies: Pattern, settings: Settings) -> None:
    notes = notes_said(draw(girth(FOLD, DEMO), bodies, settings).notes, {})
    assert any("middle line crosses the top level" in note and "from the front edge" in note for note in notes)
    metric = notes_said(draw(girth(FOLD, DEMO), bodies, settings.in_unit("cm")).notes, {})
    assert any("middle line" in note and "35.3 cm" in note for note in metric)
