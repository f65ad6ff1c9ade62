"""Lines that truing draws: one curve laid along a run, amounts that never go back, an edge carried over a cut."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from diagnose.pattern.geometry.bezier import split
from diagnose.pattern.geometry.one_curve import one_curve
from diagnose.pattern.geometry.smooth_amounts import Profile, never_back
from diagnose.pattern.outline import Cubic, Line, Point

HOLLOW = Cubic(Point(0, 0), Point(40, -10), Point(80, 4), Point(120, 12))


def test_a_curve_that_was_cut_is_found_again() -> None:
    head, tail = split(HOLLOW, 0.37)
    found = one_curve((head, tail))
    assert found is not None
    made, off = found
    assert off < 0.05
    for one, other in zip((made.c1, made.c2), (HOLLOW.c1, HOLLOW.c2), strict=True):
        assert one == pytest.approx(other, abs=2.0)


def test_how_far_the_one_curve_strays_is_measured() -> None:
    step = (Line(Point(0, 0), Point(50, 0)), Cubic(Point(50, 0), Point(60, 0), Point(60, 3), Point(70, 3)),
            Line(Point(70, 3), Point(120, 3)))  # fmt: skip
    found = one_curve(step)
    assert found is not None
    assert 0.3 < found[1] < 1.5


def test_a_hairpin_is_not_drawn_as_one_curve() -> None:
    assert one_curve((Line(Point(0, 0), Point(100, 0)), Line(Point(100, 0), Point(0, 1)))) is None


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(1.0, 50.0), st.floats(0.0, 3.0)), min_size=2, max_size=6))
def test_an_amount_that_never_goes_back_oracle_scipy(steps: list[tuple[float, float]]) -> None:
    """The inner slopes of equal gaps are those of Fritsch and Butland's monotone cubic, which scipy draws too."""
    xs, ys = np.cumsum([10.0 for _ in steps]), np.cumsum([up for _, up in steps])
    knots = never_back(list(zip(xs.tolist(), ys.tolist(), strict=True)))
    inner = PchipInterpolator(xs, ys).derivative()(xs[1:-1]) if len(steps) > 2 else []
    assert [knot.slope for knot in knots[1:-1]] == pytest.approx(list(inner), abs=1e-9)
    assert knots[0].slope == knots[-1].slope == 0.0
    profile = Profile(never_back(list(zip(np.cumsum([gap for gap, _ in steps]).tolist(), ys.tolist(), strict=True))))
    along = [profile.at(mm)[0] for mm in np.linspace(0.0, float(sum(gap for gap, _ in steps)), 200)]
    assert np.all(np.diff(along) >= -1e-9)
