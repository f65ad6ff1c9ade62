"""Halving: per half, per seam, per stitching line, and the remainder on the ruler."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.gap.shares import share, share_out

IN = 25.4
SIXTEENTH = IN / 16


def test_two_inches_over_four_seams_is_an_eighth_on_each_line() -> None:
    # Halving follows from geometry: 16 lines x 1/8 in = 2 in.
    part = share(2 * IN, 4, SIXTEENTH)
    assert (part.per_half_mm, part.per_seam_mm, part.per_edge_mm) == pytest.approx((IN, IN / 4, IN / 8))
    assert part.edges_mm == pytest.approx((IN / 8,) * 8)


def test_letting_out_two_inches_over_five_seams_loses_nothing_to_rounding() -> None:
    # A tenth of an inch a line is not on the ruler; 16 sixteenths go on 10 lines as six of 2 and four of 1.
    part = share(-2 * IN, 5, SIXTEENTH)
    assert sum(part.edges_mm) == pytest.approx(-IN)
    assert sorted({round(abs(edge) / SIXTEENTH) for edge in part.edges_mm}) == [1, 2]


def test_the_remainder_goes_to_the_side() -> None:
    assert share_out(9 * SIXTEENTH, 8, SIXTEENTH) == pytest.approx([SIXTEENTH * n for n in (1, 1, 1, 2, 1, 1, 1, 1)])


def test_two_inches_over_five_pieces_of_a_half_keep_their_eighth() -> None:
    # A teaching page divides 2 in over 5 panels as roughly 3/8 each and loses 1/8 in a half (1/4 in whole).
    # Common practice, no source. Shared out on the ruler nothing is lost.
    assert sum(share_out(2 * IN, 5, IN / 8)) == pytest.approx(2 * IN)


def test_without_seams_there_is_a_half_and_no_line() -> None:
    part = share(IN, 0, SIXTEENTH)
    assert (part.per_half_mm, part.per_seam_mm, part.per_edge_mm) == (pytest.approx(IN / 2), None, None)
    assert part.whole_mm == pytest.approx(IN)


def test_a_total_of_half_a_millimetre_taken_in_is_taken_in() -> None:
    assert share_out(0.5, 1, 0.5) == (0.5,)
    assert share_out(-0.5, 1, 0.5) == (-0.5,)


@given(st.floats(-150, 150), st.integers(1, 12), st.sampled_from([SIXTEENTH, 1.0]))
def test_lines_add_up_to_the_half_and_differ_by_one_division_at_most(whole: float, seams: int, ruler: float) -> None:
    part = share(whole, seams, ruler)
    assert sum(part.edges_mm) == pytest.approx(part.per_half_mm, abs=1e-9)
    assert abs(part.whole_mm - whole) <= ruler + 1e-9
    assert max(part.edges_mm) - min(part.edges_mm) <= ruler + 1e-9
