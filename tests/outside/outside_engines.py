"""Figures of other programs: lengths and areas of curves, posteriors, and rules fired."""

from __future__ import annotations

import importlib.util
from functools import cache
from pathlib import Path
from random import Random
from types import ModuleType

import mpmath
import pytest
from registry import base, figures_of
from shapely import LineString, Polygon
from small_networks import posteriors as by_us
from test_posteriors_against_pyagrum import by_pyagrum, random_case

from diagnose.engine.indexed import IndexedMatcher
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.geometry.arclength import length
from diagnose.pattern.geometry.bezier import area, outline_points
from diagnose.pattern.measure import piece_area, station_width
from diagnose.pattern.outline import Cubic, Point
from diagnose.places import bundled_cases
from diagnose.rulebase.neutral import Facts

CURVES = 40


@cache
def curves() -> tuple[Cubic, ...]:
    """Cubics as they come in patterns, and some that turn sharply, up to half a metre across."""
    chance = Random(31)

    def point() -> Point:
        return Point(chance.uniform(-250, 250), chance.uniform(-250, 250))

    def gentle() -> Cubic:
        first, second = Point(chance.uniform(-40, 40), 130), Point(chance.uniform(-40, 40), 270)
        return Cubic(Point(0, 0), first, second, Point(0, 400))

    half = range(CURVES // 2)
    return (*(gentle() for _ in half), *(Cubic(point(), point(), point(), point()) for _ in half))


def by_mpmath(curve: Cubic) -> tuple[float, float]:
    """Length, and area to the chord, by quadrature with twenty digits."""
    ends = [mpmath.mpc(*point) for point in (curve.start, curve.c1, curve.c2, curve.end)]
    a, b, c = (
        3 * (ends[1] - ends[0]),
        6 * (ends[2] - 2 * ends[1] + ends[0]),
        ends[3] - 3 * ends[2] + 3 * ends[1] - ends[0],
    )

    def place(t: mpmath.mpf) -> mpmath.mpc:
        return ends[0] + t * (a + t * (b / 2 + t * c))

    def speed(t: mpmath.mpf) -> mpmath.mpc:
        return a + t * (b + t * 3 * c)

    with mpmath.workdps(20):
        stops = [mpmath.mpf(n) / 8 for n in range(9)]
        long = mpmath.quad(lambda t: abs(speed(t)), stops)
        swept = mpmath.quad(lambda t: mpmath.im(mpmath.conj(place(t)) * speed(t)) / 2, [0, 1])
        back = mpmath.im(mpmath.conj(ends[3]) * ends[0]) / 2
    return float(long), float(swept + back)


# Source: mpmath, arithmetic of any precision.
@figures_of("curves-by-quadrature")
def quadrature() -> tuple[float | str, ...]:
    found = [(length(curve), area([curve]), *by_mpmath(curve)) for curve in curves()]
    return max(abs(ours - theirs) for ours, _, theirs, _ in found), max(abs(o - t) for _, o, _, t in found)


# Source: svgpathtools, lengths of Bézier curves.
@figures_of("curves-by-another-library")
def by_library() -> tuple[float | str, ...]:
    paths = pytest.importorskip("svgpathtools")
    worst = 0.0
    for curve in curves():
        path = paths.CubicBezier(*(complex(*p) for p in (curve.start, curve.c1, curve.c2, curve.end)))
        worst = max(worst, abs(length(curve) - path.length(error=1e-9)))
    return (worst,)


# Source: shapely, on the bundled corset's panels flattened to 0.0001 mm.
@figures_of("panels-as-polygons")
def polygons() -> tuple[float | str, ...]:
    pattern = load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json")
    areas, widths = [0.0], [0.0]
    for piece in pattern.pieces:
        polygon = Polygon(outline_points(piece, 1e-4))
        areas.append(abs(polygon.area - piece_area(piece)) / polygon.area)
        for station, level in piece.levels.items():
            widths.append(abs(polygon.intersection(LineString(level)).length - station_width(piece, station)))
    return max(areas), max(widths)


# Source: pyAgrum, exact inference in Bayesian networks; its form without the leak in the weights.
@figures_of("posteriors-by-exact-inference")
def exact_inference() -> tuple[float | str, ...]:
    chance, worst = Random(20), 0.0
    for _ in range(200):
        case = random_case(chance, chance.randint(1, 7), chance.randint(1, 7), chance.choice([0.2, 0.4, 0.8]))
        ours, theirs = by_us(*case).probability, by_pyagrum(*case)
        worst = max(worst, *(abs(ours[cause] - theirs[cause]) for cause in theirs))
    return (worst,)


def clips_reference() -> ModuleType:
    """The reference matcher that the engine's tests have."""
    pytest.importorskip("clips")
    path = Path(__file__).parents[1] / "engine" / "clips_reference.py"
    spec = importlib.util.spec_from_file_location("outside_clips_reference", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def some_facts(chance: Random) -> Facts:
    """Facts as the bundled rules test them, at and round the bounds that stand there."""
    tests = [test for rule in base().rules for test in rule.tests]
    facts: dict[str, str | float] = {}
    for test in chance.sample(tests, 30):
        near = chance.choice((-0.5, 0.0, 0.5))
        facts[test.fact] = test.value if isinstance(test.value, str) else test.value + near
    return facts


# Source: CLIPS, the expert system shell, with the bundled rules.
@figures_of("rules-fired-by-another-engine")
def fired() -> tuple[float | str, ...]:
    theirs, ours = clips_reference().ClipsMatcher(base().rules), IndexedMatcher(base().rules)
    chance, fires, differ = Random(43), 0, 0
    stages = {rule.stage for rule in base().rules}
    for _ in range(60):
        facts = some_facts(chance)
        for stage in sorted(stages):
            one, other = ours.match(stage, facts), theirs.match(stage, facts)
            fires += len(other)
            differ += one != other
    assert fires > 100
    return (float(differ),)
