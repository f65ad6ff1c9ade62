"""Small pieces whose figures can be worked by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from msgspec.structs import replace

from diagnose.model.settings import Settings
from diagnose.pattern.outline import Channel, Edge, Line, Pattern, Piece, Point, Role, Slit
from diagnose.rulebase.reading.settings_file import read_settings

SIDES: tuple[tuple[str, Role], ...] = (("hem", "bottom"), ("back", "lacing"), ("top", "top"), ("front", "fold"))


def settings() -> Settings:
    return read_settings(Path(__file__).parents[2] / "rules")


def four_sided(*corners: tuple[float, float], roles: tuple[Role, ...] | None = None, **more: Any) -> Piece:
    """A piece of straight edges: bottom, lacing, top and fold, or of the roles given, one a corner."""
    named = SIDES if roles is None else tuple((f"e{n}", role) for n, role in enumerate(roles))
    spots = [Point(*corner) for corner in corners]
    edges = tuple(
        Edge(name, role, (Line(spots[n], spots[(n + 1) % len(spots)]),)) for n, (name, role) in enumerate(named)
    )
    return replace(Piece("front", "fold", "both", edges), **more)


def oblong(wide: float = 100.0, high: float = 200.0, **more: Any) -> Piece:
    return four_sided((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high), **more)


def one(piece: Piece) -> Pattern:
    return Pattern("plain", "back", (piece,))


def channel(name: str, x: float, low: float, high: float) -> Channel:
    return Channel(name, (Point(x, low), Point(x, high)), 9.525)


def slit(x: float, high: float) -> Slit:
    return Slit("s1", (Point(x, 0.0), Point(x, high)))
