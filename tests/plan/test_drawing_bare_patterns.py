"""Patterns with little marked on them: what can still be drawn is, by figures worked by hand; the rest is declined."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from drawing_bench import IN, USUAL, alteration, girth, length, panels, told
from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.geometry.runs import run_split
from diagnose.pattern.in_words import notes_said
from diagnose.pattern.measure import piece_area, station_width
from diagnose.pattern.outline import Channel, Cubic, Edge, EdgeRef, Pattern, Piece, Point, Seam
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.drawing.half import halves_of
from diagnose.plan.drawing.named_places import place_named, seams_named

FOUR, ONE = panels(80, 80, 80, 80), panels(320)
ALIKE = dict.fromkeys(STATIONS, IN)
WEDGE = {"do": "back-wedge", "station": "waist", "way": "out"}


def fold(where: str, *stations: str) -> dict[str, Any]:
    return {"do": "panel-fold", "where": where, "by": dict.fromkeys(stations or ("top", "waist", "bottom"), "full")}


def by_girth(pattern: Pattern, settings: Settings, move: Mapping[str, Any], profile: Mapping[Any, float]) -> Drawn:
    return draw(girth(alteration(move), profile), pattern, settings)


def by_length(pattern: Pattern, settings: Settings, move: Mapping[str, Any], side: Any = "both") -> Drawn:
    return draw(length(alteration(move, kind="length"), IN / 2, side), pattern, settings)


def with_levels(pattern: Pattern, number: int, *stations: str) -> Pattern:
    """Only these levels on the piece of that number."""
    piece = pattern.pieces[number]
    return pattern.with_piece(replace(piece, levels={s: piece.levels[s] for s in stations}))


def with_roles(pattern: Pattern, old: str, new: Any) -> Pattern:
    def changed(piece: Piece) -> Piece:
        return replace(piece, edges=tuple(replace(e, role=new if e.role == old else e.role) for e in piece.edges))

    return replace(pattern, pieces=tuple(map(changed, pattern.pieces)))


def hollow(pattern: Pattern) -> Pattern:
    """The front edge of the first panel bowed in by 9 mm at its middle."""
    piece = pattern.pieces[0]
    start, end = piece.edge("front").start, piece.edge("front").end
    bow = Cubic(start, Point(start.x + 12.0, 100.0), Point(start.x + 12.0, -50.0), end)
    return pattern.with_piece(piece.with_edge(Edge("front", piece.edge("front").role, (bow,))))


def test_a_half_with_a_waist_alone_is_folded_square_to_it_by_all_of_the_amount(settings: Settings) -> None:
    """An inch off the whole girth is 1/2 in off each half; the line runs straight down from edge to edge."""
    (op,) = told(by_girth(with_levels(ONE, 0, "waist"), settings, fold("back", "waist"), ALIKE))
    assert op["from"][0] == op["to"][0]
    assert (op["from"][1], op["to"][1]) == pytest.approx((8 * IN, -6 * IN))
    assert (op["amount_from"], op["amount_to"]) == pytest.approx((IN / 2, IN / 2))


@pytest.mark.parametrize(
    ("levels", "stations", "said"),
    [
        ({"waist": 320.0}, ("hip",), "has none of the levels that the fold is measured at"),
        ({"top": 320.0, "waist": 40.0, "bottom": 320.0}, ("waist",), "No straight line runs from the top edge"),
        ({"top": 40.0, "waist": 320.0, "bottom": 320.0}, ("waist",), "No straight line runs from the top edge"),
    ],
)
def test_a_fold_is_not_drawn_where_it_crosses_none_of_the_levels_it_is_measured_at(
    levels: Mapping[str, float], stations: tuple[str, ...], said: str, settings: Settings
) -> None:
    """Levels drawn from the front so far back; the fold is to lie behind the side, at 160."""
    piece = ONE.pieces[0]
    drawn = {s: (line[0], Point(levels[s], line[0].y)) for s, line in piece.levels.items() if s in levels}
    done = by_girth(ONE.with_piece(replace(piece, levels=drawn)), settings, fold("back", *stations), ALIKE)
    assert told(done) == ()
    assert said in notes_said(done.notes, {})[0]


@pytest.mark.parametrize(
    ("where", "low", "high"), [("front", 0.1, 0.4), ("side", 0.4, 0.6), ("back", 0.6, 0.9)]
)  # fmt: skip
def test_in_a_half_of_one_piece_the_fold_lies_where_it_is_told_to(
    where: str, low: float, high: float, settings: Settings
) -> None:
    (op,) = told(by_girth(ONE, settings, fold(where), ALIKE))
    assert low * 320.0 < op["from"][0] < high * 320.0


def test_a_fold_is_measured_on_a_bent_level_on_the_leg_that_it_crosses(settings: Settings) -> None:
    """A waist that bends down at x = 100 gives the same fold as a straight one drawn through its back part."""
    piece = ONE.pieces[0]
    bent = (Point(0.0, 30.0), Point(100.0, 0.0), Point(320.0, 0.0))
    amounts = {**ALIKE, "top": 2 * IN, "bottom": 0.0}
    patterns = [
        ONE.with_piece(replace(piece, levels={**piece.levels, "waist": line}))
        for line in (piece.levels["waist"], bent)
    ]  # fmt: skip
    ops = [by_girth(pattern, settings, fold("side"), amounts) for pattern in patterns]
    straight, other = ({key: told(done)[0][key] for key in ("from", "to", "amount_from", "amount_to")} for done in ops)
    assert other == straight
    assert straight["amount_from"] > straight["amount_to"] > 0.0


def boned(step: float, width: float) -> Pattern:
    piece = ONE.pieces[0]
    xs = [150.0 + step * n for n in range(math.ceil(160.0 / step))]
    bones = tuple(Channel(f"c{n}", (Point(x, -140.0), Point(x, 190.0)), width) for n, x in enumerate(xs))
    return ONE.with_piece(replace(piece, channels=bones))


@pytest.mark.parametrize(
    ("step", "width", "inches", "room"),
    [
        (16.0, 6.0, 1.0, True),  # 16 - 12.7/2 = 9.6 to either neighbour, and 6 are needed
        (18.0, 9.5, 2.0, False),  # 18 - 25.4/2 = 5.3, and 9.5 are needed
        (12.0, 9.5, 1.0, False),  # 12 - 12.7/2 = 5.7, and 9.5 are needed
    ],
)
def test_a_bone_in_the_fold_is_drawn_on_the_closing_line_where_its_neighbours_leave_it_room(
    step: float, width: float, inches: float, room: bool, settings: Settings
) -> None:
    done = by_girth(boned(step, width), settings, fold("back"), dict.fromkeys(STATIONS, inches * IN))
    assert done.pattern is not None
    (lost,) = next(op["remove"] for op in told(done) if op["op"] == "channels" and "remove" in op)
    names = [channel.name for channel in done.pattern.pieces[0].channels]
    assert (lost in names) is room
    said = next(note for note in notes_said(done.notes, {}) if note.startswith(f"Channel {lost} lay in the fold"))
    assert ("leave it out" in said) is not room
    assert ("drawn anew on the closing line, where the bone keeps the paper flat" in said) is room
    if room:
        xs = {c.name: c.line[0].x for c in done.pattern.pieces[0].channels}
        assert min(abs(xs[lost] - x) for name, x in xs.items() if name != lost) >= width


@pytest.mark.parametrize(
    ("pattern", "move", "said"),
    [
        (
            with_roles(ONE, "bottom", "seam"),
            {"do": "bust-slash", "way": "spread"},
            "No straight line runs from the top",
        ),
        (with_roles(FOUR, "top", "seam"), {"do": "bust-slash", "way": "spread"}, "has no top edge to slash from"),
        (hollow(ONE), {"do": "front-straight"}, "has no seam to go to"),
        (FOUR, {"do": "grain", "least_deg": "3", "most_deg": "5"}, "stands square to its waist already"),
    ],
)
def test_what_has_no_place_on_the_pattern_is_left_to_the_hand(
    pattern: Pattern, move: Mapping[str, Any], said: str, settings: Settings
) -> None:
    done = by_length(pattern, settings, move)
    assert (told(done), done.pattern) == ((), pattern)
    assert said in notes_said(done.notes, {})[0]


def test_without_a_lower_edge_no_gore_is_let_in(settings: Settings) -> None:
    gores = {"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}}
    plain, bare = (by_girth(p, settings, gores, {"bottom": -IN}) for p in (FOUR, with_roles(FOUR, "bottom", "seam")))
    assert [op["op"] for op in told(plain)] == ["insert-gore"]
    assert told(bare) == ()
    assert "No slit for a gore was found" in notes_said(bare.notes, {})[0]


@pytest.mark.parametrize(
    ("levels", "turned"), [(("waist", "top"), math.degrees(math.atan2(10, 200))), (("top",), None)]
)
def test_a_grain_line_is_turned_by_what_it_leans_and_left_where_there_is_no_waist_to_tell(
    levels: tuple[str, ...], turned: float | None, settings: Settings
) -> None:
    pattern = with_levels(FOUR, 1, *levels)
    leaning = pattern.with_piece(replace(pattern.pieces[1], grain=(Point(120.0, -100.0), Point(130.0, 100.0))))
    done = by_length(leaning, settings, {"do": "grain", "least_deg": "1", "most_deg": "5"})
    turns = {op["piece"]: op["grain_deg"] for op in told(done)}
    assert turns == ({} if turned is None else {"panel-2": pytest.approx(turned, abs=1e-5)})


def test_a_wedge_at_the_back_is_taken_where_no_edge_is_laced_but_none_is_laid_anew(settings: Settings) -> None:
    laced, plain = (by_length(p, settings, WEDGE) for p in (FOUR, with_roles(FOUR, "lacing", "seam")))
    folds = [[op for op in told(done) if op["op"] == "fold"] for done in (laced, plain)]
    assert folds[0] == folds[1]
    assert [op["piece"] for op in folds[0]] == ["panel-3", "panel-4"]
    assert {op["op"] for op in told(plain)} == {"fold"}
    assert ("panel-4", "back") in [(op["piece"], op.get("edge")) for op in told(laced)]


def test_on_one_side_a_panel_without_the_level_is_left_as_long_as_it_was(settings: Settings) -> None:
    shorten = {"do": "length", "station": "waist", "offset": "2 in", "way": "shorten"}
    bare = with_levels(FOUR, 1, "top", "bottom")
    done = draw(length(alteration(shorten, kind="length"), IN / 8, "left"), bare, settings)
    folds = [op["piece"] for op in told(done) if op["op"] == "fold"]
    assert folds == ["panel-1-left", "panel-3-left", "panel-4-left"]
    # By more its seam, trued against the panel that stays, would bend to and fro; it is laid anew through its marks.
    more = by_length(bare, settings, shorten, "left")
    assert [op["piece"] for op in told(more) if op["op"] == "fold"] == folds


def test_the_waist_slides_up_on_the_panels_that_have_one(settings: Settings) -> None:
    """The side seam is the second of three: all at it, half at the others, nothing at front and back."""
    done = by_length(with_levels(FOUR, 1, "top", "bottom"), settings, {"do": "waist-slide"})
    levels = {
        op["piece"]: [(row["front"], row["back"]) for row in op["levels"]] for op in told(done) if op["op"] == "marks"
    }
    assert levels == {
        "panel-1": [(0.0, pytest.approx(IN / 4))],
        "panel-3": [(pytest.approx(IN / 2), pytest.approx(IN / 4))],
        "panel-4": [(pytest.approx(IN / 4), 0.0)],
    }


@pytest.mark.parametrize("levels", [("waist",), ("top", "waist"), ("top", "underbust", "waist", "hip", "bottom")])
def test_the_hollow_of_a_front_laid_straight_goes_to_the_next_seam_at_the_levels_they_share(
    levels: tuple[str, ...], settings: Settings
) -> None:
    done = by_length(with_levels(hollow(FOUR), 0, *levels), settings, {"do": "front-straight"})
    seam = next(op for op in told(done) if (op["piece"], op["edge"]) == ("panel-1", "back"))
    amounts = {round(row["along"], 4): row["mm"] for row in seam["by"]}
    assert len(amounts) == len(levels)
    # the waist stands 6 in up the 14 in of the edge
    assert amounts[round(6 / 14, 4)] == pytest.approx(8.84, abs=0.01)


@pytest.mark.parametrize("number", [2, 3])
def test_a_bust_point_marked_behind_the_side_leaves_the_bust_seam_in_front(number: int) -> None:
    piece = FOUR.pieces[number]
    marked = FOUR.with_piece(replace(piece, landmarks={"bust-point": Point(piece.edge("front").start.x + 1.0, 100.0)}))
    (joins,) = seams_named(halves_of(marked, "both", USUAL)[0], "bust")
    assert [join.front.piece for join in joins] == ["panel-1"]


@pytest.mark.parametrize(
    ("wide", "said"), [((150, 80, 80, 80), "too far from the bust point"), ((200, 200), "in one piece")]
)
def test_why_no_seam_runs_over_the_bust_is_said_as_it_is(
    wide: tuple[float, ...], said: str, settings: Settings
) -> None:
    pattern = panels(*wide)
    piece = pattern.pieces[0]
    marked = pattern.with_piece(replace(piece, landmarks={"bust-point": Point(75.0, 100.0)}))
    made = by_length(marked, settings, {"do": "bust-shift", "way": "up"})
    assert not made.operations
    assert said in " ".join(made.notes)


def test_an_underarm_marked_off_the_edge_named_armhole_leaves_the_peak_on_that_edge() -> None:
    """The armhole is the top of the second panel, 80 to 160 mm along; level, it is lowest in its middle."""
    second, third = FOUR.pieces[1:3]
    top = second.edge("top-edge")
    named = tuple(replace(e, name="armhole") if e is top else e for e in second.edges)
    mark = {"underarm": Point(third.edge("front").start.x + 40.0, top.start.y)}
    pattern = FOUR.with_piece(replace(second, edges=named)).with_piece(replace(third, landmarks=mark))
    place = place_named(halves_of(pattern, "both", USUAL)[0], "underarm")
    assert (place.start, place.peak, place.end) == pytest.approx((80.0, 120.0, 160.0))


def part_of(pattern: Pattern, *numbers: int) -> Pattern:
    """Only those panels of the pattern, their free sides curved as seams are."""
    kept = [pattern.pieces[n] for n in numbers]
    names = {piece.name for piece in kept}
    seams = tuple(seam for seam in pattern.seams if {seam.a.piece, seam.b.piece} <= names)
    sewn = {ref for seam in seams for ref in (seam.a, seam.b)}
    made = replace(pattern, pieces=tuple(kept), seams=seams)
    for piece in kept:
        for edge in piece.edges:
            if edge.role == "seam" and EdgeRef(piece.name, edge.name) not in sewn:
                (x, y0), (_, y1) = edge.start, edge.end
                bow = Cubic(edge.start, Point(x + 12.0, y0 * 0.7), Point(x + 12.0, y1 * 0.7), edge.end)
                made = made.with_piece(made.piece(piece.name).with_edge(Edge(edge.name, "seam", (bow,))))
    return made


@pytest.mark.parametrize(
    ("move", "missing"),
    [
        (WEDGE, "centre back"),
        ({"do": "front-line", "what": "tip"}, "centre front"),
        ({"do": "edge", "place": "front-top", "direction": "up"}, "centre front"),
        ({"do": "edge", "place": "thigh-line", "direction": "up"}, "centre front"),
        ({"do": "edge", "place": "side-hem", "direction": "up"}, "centre front"),
        ({"do": "edge", "place": "back-top", "direction": "up"}, "centre back"),
        ({"do": "bust-over-seam", "way": "reduce", "length_part": "0.75"}, "centre front"),
    ],
)
def test_what_is_for_a_centre_is_not_drawn_on_panels_from_the_middle_of_a_half(
    move: Mapping[str, Any], missing: str, settings: Settings
) -> None:
    middle = part_of(FOUR, 1, 2)
    done = by_length(middle, settings, move)
    assert not done.operations
    assert f"{missing} is" in notes_said(done.notes, {})[0]
    assert "by hand" in notes_said(done.notes, {})[0]
    assert by_length(FOUR, settings, move).operations


def test_a_curved_seam_at_the_other_centre_is_one_where_the_garment_closes(settings: Settings) -> None:
    """Closed at the back, a front edge that is curved may be a seam at centre front; without the back it is none."""
    for numbers, ends in (((1, 2, 3), (True, True)), ((0, 1, 2), (True, False)), ((1, 2), (False, False))):
        half = halves_of(part_of(FOUR, *numbers), "both", USUAL)[0]
        assert (half.to_front, half.to_back) == ends
    sewn = part_of(FOUR, 0, 1, 2)
    back = EdgeRef("panel-3", "back")
    mirrored = replace(sewn, seams=(*sewn.seams, Seam("centre-back", back, back)))
    assert halves_of(mirrored, "both", USUAL)[0].to_back


def in_parts(pattern: Pattern) -> Pattern:
    """The pattern with every side stored in two parts, above the waist and below it, and every seam likewise."""
    pieces = []
    for piece in pattern.pieces:
        edges: list[Edge] = []
        for edge in piece.edges:
            if edge.role in ("top", "bottom"):
                edges.append(edge)
                continue
            low, up = run_split(edge.segments, abs(edge.start.y))
            names = ("low", "up") if edge.end.y > edge.start.y else ("up", "low")
            edges += [Edge(f"{edge.name}-{n}", edge.role, run) for n, run in zip(names, (low, up), strict=True)]
        pieces.append(replace(piece, edges=tuple(edges), notches=()))
    seams = [
        Seam(f"{seam.name}-{n}", *(EdgeRef(ref.piece, f"{ref.edge}-{n}") for ref in (seam.a, seam.b)))
        for seam in pattern.seams
        for n in ("low", "up")
    ]
    return replace(pattern, pieces=tuple(pieces), seams=tuple(seams))


@pytest.mark.parametrize(
    "move",
    [
        {"do": "seams", "which": "all", "by": dict.fromkeys(STATIONS, "full")},
        {"do": "seams", "which": "side", "by": {"underbust": "nothing", "waist": "full", "hip": "nothing"}},
        {"do": "lacing-edge"},
        {"do": "split-share"},
    ],
    ids=lambda move: f"{move['do']}",
)
def test_sides_in_two_parts_are_drawn_as_the_one_line_they_are(move: Mapping[str, Any], settings: Settings) -> None:
    def made(pattern: Pattern) -> Drawn:
        if move["do"] in ("seams", "lacing-edge"):
            return by_girth(pattern, settings, move, dict.fromkeys(STATIONS, 2 * IN))
        return by_length(pattern, settings, move)

    whole, parts = made(FOUR), made(in_parts(FOUR))
    assert whole.operations, whole.notes
    assert parts.operations, parts.notes
    assert whole.pattern is not None
    assert parts.pattern is not None
    for one, two in zip(whole.pattern.pieces, parts.pattern.pieces, strict=True):
        assert piece_area(two) == pytest.approx(piece_area(one), rel=1e-4), one.name
        for station in one.levels:
            assert station_width(two, station) == pytest.approx(station_width(one, station), abs=0.2), one.name


def without(pattern: Pattern, station: str) -> Pattern:
    return replace(
        pattern,
        pieces=tuple(
            replace(piece, levels={name: at for name, at in piece.levels.items() if name != station})
            for piece in pattern.pieces
        ),
    )


@pytest.mark.parametrize("do", ["seams", "lacing-edge"])
@pytest.mark.parametrize(
    ("bottom", "drawn", "left_out"), [(2 * IN, 2 * IN, False), (0.0, 2 * IN, True), (4 * IN, 2 * IN, True)]
)
def test_a_height_without_a_level_gets_what_is_drawn_beside_it_and_what_is_missing_there_is_said(
    bottom: float, drawn: float, left_out: bool, do: str, settings: Settings
) -> None:
    profile: dict[Any, float] = {**dict.fromkeys(STATIONS, 2 * IN), "bottom": bottom}
    item = girth(alteration({"do": do}), profile)
    made = draw(replace(item, read=frozenset(STATIONS)), without(FOUR, "bottom"), settings)
    assert made.operations, made.notes
    assert made.profile["hip"] == pytest.approx(2 * IN, abs=0.05)
    assert made.profile["bottom"] == pytest.approx(drawn, abs=0.05)
    assert any("at the bottom is not drawn" in note for note in notes_said(made.notes, {})) is left_out


def test_a_gore_whose_width_is_wanted_where_no_level_is_says_which_level_is_missing(settings: Settings) -> None:
    gores = {"do": "gores", "where": "hip", "by": {"waist": "nothing", "bottom": "full"}}
    cut = FOUR
    for number in range(len(FOUR.pieces)):
        cut = with_levels(cut, number, "top", "underbust", "waist", "hip")
    bare = by_girth(cut, settings, gores, {"bottom": -IN})
    assert notes_said(bare.notes, {})[0].startswith("Not drawn on the pattern. The bottom is not marked on all of it")
