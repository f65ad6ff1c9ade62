"""Where places lie on straight panels with marks set by hand, and how much of the height stands there: by shares."""

from __future__ import annotations

from typing import Any

import pytest
from drawing_bench import IN, USUAL, alteration, girth, length, over_all_seams, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.outline import Channel, Line, Pattern, Point, Slit
from diagnose.plan.drawing import draw
from diagnose.plan.drawing.board import NotDrawnError
from diagnose.plan.drawing.edge_lines import edge_line
from diagnose.plan.drawing.half import Half, halves_of
from diagnose.plan.drawing.named_places import place_named, seams_named, strap_tab, underarm_s

TOP = 8 * IN
WHOLE = 400.0


def half_of(pattern: Pattern) -> Half:
    return halves_of(pattern, "both", USUAL)[0]


def marked(**places: float) -> Half:
    """A half in one panel 400 mm wide; each landmark on its top edge, so far from the front."""
    pattern = panels(WHOLE)
    landmarks = {name.replace("_", "-"): Point(x, TOP) for name, x in places.items()}
    return half_of(pattern.with_piece(replace(pattern.pieces[0], landmarks=landmarks)))


def four(**how: Any) -> Pattern:
    """Four panels of 100 mm; `how` replaces what the second one has."""
    pattern = panels(100, 100, 100, 100)
    return pattern.with_piece(replace(pattern.pieces[1], **how)) if how else pattern


@pytest.mark.parametrize(
    ("name", "marks", "stands"),
    [
        # Without marks: bust at 0.22 of the whole, the underarm in the middle of the panel at the side.
        ("front-top", {}, (0.0, 0.0, 88.0, 144.0)), ("side-top", {}, (88.0, 144.0, 144.0, 200.0)),
        ("back-top", {}, (200.0, 300.0, 400.0, 400.0)), ("armhole-front", {}, (144.0, 172.0, 172.0, 200.0)),
        ("front-hem", {}, (0.0, 0.0, 0.0, 140.0)), ("thigh-line", {}, (0.0, 100.0, 100.0, 200.0)),
        # With a bust point and an underarm marked.
        ("front-top", {"bust_point": 100, "underarm": 220}, (0.0, 0.0, 100.0, 160.0)),
        ("side-top", {"bust_point": 100, "underarm": 220}, (100.0, 160.0, 160.0, 220.0)),
        ("back-top", {"underarm": 220}, (220.0, 310.0, 400.0, 400.0)),
        ("armhole-front", {"bust_point": 100, "underarm": 220}, (160.0, 190.0, 190.0, 220.0)),
        # With straps: their tab is 1/2 in to each side of the mark on a long edge.
        ("front-top", {"bust_point": 100, "strap_front": 150}, (0.0, 0.0, 96.11, 137.3)),
        ("side-top", {"bust_point": 80, "strap_front": 150}, (80.0, 108.65, 108.65, 137.3)),
        ("back-top", {"strap_back": 300}, (312.7, 356.35, 400.0, 400.0)),
        ("armhole-front", {"strap_front": 150, "underarm": 220}, (162.7, 191.35, 191.35, 220.0)),
        ("underarm", {"strap_front": 150, "strap_back": 300, "underarm": 240}, (162.7, 240.0, 240.0, 287.3)),
        # Marks in an odd order: the strap in front of the bust point does not end the side; straps that have crossed
        # leave the whole panel.
        ("side-top", {"bust_point": 160, "strap_front": 100, "underarm": 240}, (160.0, 200.0, 200.0, 240.0)),
        ("underarm", {"strap_front": 300, "strap_back": 150, "underarm": 240}, (0.0, 240.0, 240.0, 400.0)),
        ("armhole-front", {"strap_front": 230, "bust_point": 100, "underarm": 220}, (160.0, 190.0, 190.0, 220.0)),
        ("side-top", {"bust_point": 390, "underarm": 200}, (140.0, 170.0, 170.0, 200.0)),
    ],
)  # fmt: skip
def test_a_place_stands_at_its_share_or_its_marks(name: str, marks: dict[str, float], stands: Any) -> None:
    place = place_named(marked(**marks), name)
    assert (place.start, place.peak_from, place.peak_to, place.end) == pytest.approx(stands, abs=0.01)


def test_the_height_rises_smoothly_from_nothing_to_all_and_back() -> None:
    # geometry: 3t² − 2t³ is 0.15625 at a quarter, 1/2 half-way and 0.84375 at three quarters
    place = place_named(marked(), "thigh-line")
    parts = [place.part_at(s) for s in (0.0, 25.0, 50.0, 75.0, 100.0, 125.0, 150.0, 200.0, 260.0)]
    assert parts == pytest.approx([0.0, 0.15625, 0.5, 0.84375, 1.0, 0.84375, 0.5, 0.0, 0.0])


def test_the_front_hem_ends_at_the_first_slit_that_stands_on_it() -> None:
    pattern = panels(WHOLE)
    foot = -6 * IN
    slits = (Slit("s1", (Point(90.0, foot), Point(90.0, foot + 50))), Slit("s2", (Point(60.0, foot), Point(60.0, -60))),
             Slit("t1", (Point(30.0, TOP), Point(30.0, 100))))  # fmt: skip
    half = half_of(pattern.with_piece(replace(pattern.pieces[0], slits=slits)))
    assert place_named(half, "front-hem").end == pytest.approx(60.0)


def test_a_short_edge_under_the_strap_is_its_tab_and_a_mark_off_the_edge_is_none() -> None:
    pattern = panels(100, 90, 100)
    piece = replace(
        pattern.pieces[1], landmarks={"strap-front": Point(170.0, TOP), "strap-back": Point(170.0, TOP - 30)}
    )
    half = half_of(pattern.with_piece(piece))
    line = edge_line(half, "top")
    assert strap_tab(half, line, "front") == pytest.approx((100.0, 190.0))
    assert strap_tab(half, line, "back") is None


@pytest.mark.parametrize(("at", "reach"), [(150.0, (100.0, 200.0)), (205.0, (100.0, 300.0)), (128.0, (100.0, 200.0))])
def test_an_underarm_near_a_seam_takes_in_the_neighbour_too(at: float, reach: tuple[float, float]) -> None:
    index, off = divmod(at, 100.0)
    pattern = panels(100, 100, 100, 100)
    own = pattern.pieces[int(index)]
    landmarks = {"underarm": Point(own.edge("front").start.x + off, TOP)}
    place = place_named(half_of(pattern.with_piece(replace(own, landmarks=landmarks))), "underarm")
    assert (place.start, place.end) == pytest.approx(reach)


def test_the_lowest_place_under_the_arm_is_found_over_the_waist_not_over_the_paper() -> None:
    """The top dips at 60 mm of a panel of 100, 25 mm deep; the panel lies on the paper as it likes."""
    pattern = panels(100, 100, 100)
    piece = pattern.pieces[1]
    top = piece.edge("top-edge")
    dip = Point(top.end.x + 60.0, TOP - 25.0)
    made = piece.with_edge(replace(top, segments=(Line(top.start, dip), Line(dip, top.end))))
    half = half_of(pattern.with_piece(made))
    line = edge_line(half, "top")
    found = line.point(underarm_s(half, line))
    assert abs(found.x - dip.x) < 5.0


@pytest.mark.parametrize(
    ("marks", "bust"),
    [
        ({}, ["panel-1"]),
        ({"bust-point": Point(150.0, 100.0)}, ["panel-1"]),
        ({"bust-point": Point(225.0, 100.0)}, []),
    ],
)
def test_the_bust_seam_is_a_front_seam_near_the_bust_point(marks: dict[str, Point], bust: list[str]) -> None:
    """One that lies behind the side seam has none: the side seam is no bust seam, and the front one is too far off."""
    half = half_of(four(landmarks=marks))
    assert [join[0].front.piece for join in seams_named(half, "bust")] == bust


@pytest.mark.parametrize(
    ("setting", "value", "word", "seams"),
    [
        ("bust-seam-to", 0.2, "bust", []),
        ("side-at", 0.25, "side", ["panel-1"]),
        ("belly-two-seams", 3.0, "belly", ["panel-1", "panel-2"]),
    ],
)
def test_where_a_makers_rules_say_otherwise_the_seams_are_found_there(
    setting: str, value: float, word: str, seams: list[str]
) -> None:
    (half,) = halves_of(four(), "both", USUAL.with_value(setting, value))
    assert [join[0].front.piece for join in seams_named(half, word)] == seams


def test_of_two_front_seams_the_bust_seam_is_the_one_nearer_to_the_bust_point() -> None:
    pattern = panels(60, 60, 60, 60, 60, 60)
    for x, name in ((100.0, "panel-1"), (145.0, "panel-2")):
        own = replace(pattern.pieces[1], landmarks={"bust-point": Point(x, 100.0)})
        half = half_of(pattern.with_piece(own))
        assert seams_named(half, "bust")[0][0].front.piece == name


def test_a_line_goes_on_over_the_seams_and_says_which_panel_a_place_lies_on() -> None:
    half = half_of(four())
    line = edge_line(half, "bottom")
    assert line.size == pytest.approx(400.0)
    assert [line.at(s).piece for s in (0.0, 100.0, 100.1, 399.0, 450.0)] == [
        "panel-1", "panel-1", "panel-2", "panel-4", "panel-4",
    ]  # fmt: skip
    assert line.nearest("panel-2", Point(150.0, -6 * IN - 5)) == pytest.approx((120.0, 5.0))
    assert line.nearest("panel-9", Point(0.0, 0.0)) is None


def test_each_half_has_its_shares_at_the_underbust_or_the_waist_or_over_all() -> None:
    pattern = panels(50, 150)
    assert half_of(pattern).shares() == pytest.approx((0.25,))
    no_underbust = tuple(replace(p, levels={"waist": p.levels["waist"]}) for p in pattern.pieces)
    assert half_of(replace(pattern, pieces=no_underbust)).shares() == pytest.approx((0.25,))
    hip_alone = tuple(replace(p, levels={"hip": p.levels["hip"]}) for p in pattern.pieces)
    assert half_of(replace(pattern, pieces=hip_alone)).shares() == pytest.approx((0.25,))


def test_a_pattern_for_the_other_side_has_no_half_here() -> None:
    pattern = panels(100, 100)
    left = replace(pattern, pieces=tuple(replace(p, side="left", cut="single") for p in pattern.pieces))
    assert [half.side for half in halves_of(left, "both", USUAL)] == ["left"]
    with pytest.raises(NotDrawnError, match="No piece of this pattern runs from a front edge"):
        halves_of(left, "right", USUAL)


SLASH = {"do": "bust-slash"}


@pytest.mark.parametrize(("way", "sign"), [("spread", -1.0), ("fold", 1.0)])
def test_a_bust_slash_in_straight_panels_takes_its_share_at_every_height(
    way: str, sign: float, settings: Settings
) -> None:
    # geometry: nothing at the hinge just above the waist, all of it at the top edge 8 in up, in between by the height
    drawn = draw(length(alteration({**SLASH, "way": way}, kind="length"), IN / 2), four(), settings)
    assert drawn.profile["underbust"] / 2 == pytest.approx(sign * IN / 4, abs=IN / 32)
    assert drawn.profile["top"] / 2 == pytest.approx(sign * IN / 2 * (TOP - 5.0) / TOP, abs=IN / 32)
    assert drawn.profile["hip"] / 2 == pytest.approx(0.0, abs=IN / 32)
    assert {op["piece"] for op in told(drawn) if op["op"] == "dart"} == {"panel-2"}


def test_in_one_piece_the_slash_hinges_at_the_hem_and_what_that_does_to_the_waist_is_said(settings: Settings) -> None:
    for way, sign, said in (("spread", -1.0, "wider"), ("fold", 1.0, "narrower")):
        drawn = draw(length(alteration({**SLASH, "way": way}, kind="length"), IN / 2), panels(12 * IN), settings)
        # geometry: the hem lies 14 in under the top, the waist 6 in over the hem
        assert drawn.profile["waist"] / 2 == pytest.approx(sign * IN / 2 * 6 / 14, abs=IN / 32)
        assert any(said in note for note in notes_said(drawn.notes, {}))


def test_channels_at_the_arm_are_moved_off_an_edge_that_has_come_too_near(settings: Settings) -> None:
    """The top edge falls by 200 mm over 400 toward the back; a channel lies along it, 8 mm below, another far off."""
    pattern = panels(WHOLE)
    piece = pattern.pieces[0]
    front, back = Point(0.0, TOP + 200.0), Point(WHOLE, TOP)
    made = piece.with_edge(replace(piece.edge("top-edge"), segments=(Line(back, front),)))
    made = made.with_edge(replace(piece.edge("front"), segments=(Line(front, piece.edge("front").end),)))
    beside = Channel("c2", (Point(150.0, TOP + 116.0), Point(250.0, TOP + 66.0)), 9.5)
    upright = Channel("c1", (Point(20.0, -100.0), Point(20.0, 190.0)), 9.5)
    made = replace(made, channels=(upright, beside), landmarks={"underarm": Point(200.0, TOP + 100.0)})
    move = {"do": "channels", "what": "move", "place": "underarm"}
    drawn = draw(length(alteration(move, kind="length"), 6.0), pattern.with_piece(made), settings)
    (op,) = told(drawn)
    # geometry: square to a slope of 1 in 2, the level part of 6 mm is 6/√5
    assert op["move"] == [{"name": "c2", "by": [pytest.approx(-6.0 / 5**0.5, abs=0.001), 0.0]}]


def test_with_fewer_than_two_or_three_channels_there_is_nothing_to_add_between_or_to_space(settings: Settings) -> None:
    for what, said in (("add", "No panel there has room for a channel"), ("re-space", "stand evenly already")):
        move = {"do": "channels", "what": what, "place": "front-top"}
        drawn = draw(length(alteration(move, kind="length"), 0.0), panels(12 * IN), settings)
        assert told(drawn) == ()
        assert said in notes_said(drawn.notes, {})[0]


def test_the_uneven_lines_are_told_with_their_way_and_their_edges(settings: Settings) -> None:
    everywhere = alteration({"do": "seams", "which": "all", "by": {"top": "full", "waist": "full", "bottom": "full"}})
    drawn = draw(
        girth(everywhere, {"top": IN, "waist": -IN, "bottom": 0.0}), panels(90, 90, 90, 90), over_all_seams(settings)
    )
    # 1/2 in a half over six lines: two of 1/8 in at the side seam, four of 1/16 in.
    side = "second panel, back, third panel, front"
    others = "first panel, back, second panel, front, third panel, back, fourth panel, front"
    assert notes_said(drawn.notes, {}) == (
        f"At the top draw 1/16 in (1.5 mm) inwards on {others}; 1/8 in (3 mm) inwards on {side}.",
        f"At the waist draw 1/8 in (3 mm) outwards on {side}; 1/16 in (1.5 mm) outwards on {others}.",
    )
