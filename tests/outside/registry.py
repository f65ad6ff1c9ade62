"""How each figure of rules/checks.yaml is worked out: functions registered under the id of their check.

A function gives its figures in the order of the table: lengths in mm, shares and angles as numbers, or words.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from diagnose.engine.matching import matcher_for
from diagnose.gap.reading import GapReading, read_gap
from diagnose.gap.takein import TakeIn, suggest_take_in
from diagnose.model.settings import Settings
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.outline import Edge, Line, Pattern, Piece, Point
from diagnose.places import bundled_rules
from diagnose.plan.planned import Diagnosis
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.outside_checks import OutsideChecks, read_checks

__all__ = [
    "INCH", "WORKED_OUT", "alone", "base", "checks", "diagnosis", "figures_of", "reading", "settings", "take_in",
    "trapezoid", "tryon",
]  # fmt: skip

INCH = 25.4
Figures = tuple[float | str, ...]
WORKED_OUT: dict[str, Callable[[], Figures]] = {}


def figures_of(check: str) -> Callable[[Callable[[], Figures]], Callable[[], Figures]]:
    """Register the function that works out the figures of a check."""

    def register(function: Callable[[], Figures]) -> Callable[[], Figures]:
        assert check not in WORKED_OUT, check
        WORKED_OUT[check] = function
        return function

    return register


@cache
def base() -> RuleBase:
    return load_rulebase()


@cache
def _matcher() -> Matcher:
    return matcher_for(base())


@cache
def checks() -> OutsideChecks:
    return read_checks(bundled_rules(), base().entries.sources)


def settings() -> Settings:
    return base().settings


def tryon(**raw: Any) -> TryOn:
    return read_tryon({"id": "outside", **raw}, base().vocabulary)


def reading(**raw: Any) -> GapReading:
    return read_gap(tryon(**raw), settings())


def take_in(seams: int | None, **raw: Any) -> TakeIn:
    return suggest_take_in(reading(**raw), seams, settings())


def diagnosis(pattern: Pattern | None = None, **raw: Any) -> Diagnosis:
    return diagnose(tryon(**raw), base(), _matcher(), pattern)


def trapezoid(*corners: tuple[float, float], **more: Any) -> Piece:
    """A piece of four corners, from the bottom of its front counter-clockwise: hem, back, neck, front."""
    points = [Point(*corner) for corner in corners]
    names = (("hem", "bottom"), ("back", "seam"), ("neck", "top"), ("front", "seam"))
    edges = tuple(
        Edge(name, role, (Line(points[n], points[(n + 1) % 4]),))  # type: ignore[arg-type]
        for n, (name, role) in enumerate(names)
    )
    return Piece("sheet", "pair", "both", edges, **more)


def alone(piece: Piece) -> Pattern:
    return Pattern("outside", "back", (piece,))
