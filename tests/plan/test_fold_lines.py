"""Where a fold runs down a panel of straight paper: through the middle unless something lies there. By hand."""

from __future__ import annotations

import pytest
from drawing_bench import IN, USUAL, panels
from msgspec.structs import replace

from diagnose.pattern.outline import Channel, Piece, Point, Slit
from diagnose.plan.drawing.foldline import FoldLine, best_line, level_point, level_share

WHOLE, TOP, HEM = 400.0, 8 * IN, -6 * IN
REGION, WIDE = (0.25, 0.75), 12.0
STEP = 0.5 / 24 * WHOLE  # the lines tried stand 8.3 mm apart
"""A strip of 12 mm keeps clear of a channel of 9.5 mm from 10.75 mm on."""


def panel(*xs: float, slits: tuple[Slit, ...] = (), **landmarks: Point) -> Piece:
    """The panel with upright channels at those places."""
    bones = tuple(Channel(f"c{n}", (Point(x, -140.0), Point(x, 190.0)), 9.5) for n, x in enumerate(xs))
    marks = {name.replace("_", "-"): at for name, at in landmarks.items()}
    return replace(panels(WHOLE).pieces[0], channels=bones, slits=slits, landmarks=marks)


def line_in(piece: Piece, widths: tuple[float, float] = (WIDE, WIDE)) -> FoldLine:
    found = best_line(piece, REGION, widths, armhole=(), eyelets_mm=USUAL.mm("eyelet-room"))
    assert found is not None
    return found


def test_in_empty_paper_it_runs_down_the_middle_from_edge_to_edge() -> None:
    line = line_in(panel())
    assert line.start == pytest.approx(Point(200.0, TOP))
    assert line.end == pytest.approx(Point(200.0, HEM))
    assert (line.shares, line.inside, line.top_edge.name) == (pytest.approx((0.5, 0.5)), (), "top-edge")


def test_it_goes_aside_for_a_channel_no_further_than_it_must() -> None:
    line = line_in(panel(200.0))
    assert line.inside == ()
    assert abs(line.start.x - 200.0) == pytest.approx(2 * STEP)
    assert line.start.x == pytest.approx(line.end.x, abs=1e-6)


def test_where_channels_stand_too_close_to_pass_between_it_swallows_one_whole_and_touches_none() -> None:
    xs = [200.0 + 15.0 * number for number in range(-8, 9)]
    line = line_in(panel(*xs))
    assert len(line.inside) == 1
    middle = xs[int(line.inside[0][1:])]
    assert abs(line.start.x - middle) <= 15.0 - (WIDE + 9.5) / 2


def test_where_there_is_room_between_two_channels_it_runs_there() -> None:
    line = line_in(panel(*(200.0 + 30.0 * number for number in range(-4, 5))))
    assert line.inside == ()
    nearest = min(abs(line.start.x - (200.0 + 30.0 * number)) for number in range(-4, 5))
    assert nearest >= (WIDE + 9.5) / 2


def test_it_runs_along_a_slit_that_stands_near_and_never_across_one() -> None:
    foot, tip = Point(205.0, HEM), Point(205.0, -60.0)
    along = line_in(panel(slits=(Slit("s", (foot, tip)),)))
    assert along.shares == (pytest.approx(0.5), pytest.approx(205.0 / WHOLE))
    across = Slit("s", (Point(160.0, HEM), Point(240.0, -60.0)))
    aside = line_in(panel(slits=(across,)))
    assert not 160.0 - WIDE / 2 <= aside.end.x <= 240.0 + WIDE / 2


def test_it_keeps_off_the_place_where_a_strap_is_fixed() -> None:
    line = line_in(panel(strap_back=Point(200.0, TOP)))
    assert abs(line.start.x - 200.0) == pytest.approx(STEP)


def test_paper_that_is_spread_swallows_no_channel() -> None:
    line = line_in(panel(200.0), (-WIDE, -WIDE))
    assert line.inside == ()
    assert abs(line.start.x - 200.0) == pytest.approx(STEP)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 1.0])
def test_a_share_of_a_level_and_its_point_are_each_others(share: float) -> None:
    piece = panel()
    bent = (Point(0.0, 20.0), Point(100.0, -5.0), Point(400.0, 10.0))
    for made in (piece, replace(piece, levels={**piece.levels, "waist": bent})):
        assert level_share(made, "waist", level_point(made, "waist", share)) == pytest.approx(share, abs=1e-9)
    assert level_point(piece, "waist", share).x == pytest.approx(share * WHOLE)
