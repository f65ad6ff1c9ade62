"""The levels of a whole pattern, station by station: drawn or told by her, or laid by the program, and how.

Pieces may lie at different heights on the drawing: a level is then carried along the seams from piece to piece.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median

from msgspec import Struct

from diagnose.errors import Mistake
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought.understood.applying import lowest_mm
from diagnose.pattern.brought.understood.levels import (
    drawn_level,
    lie_level,
    lifts_mm,
    presumed_heights,
    raised_by,
    through_tips,
)
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed, chained
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.in_words import piece_quoted
from diagnose.pattern.measure import bounds
from diagnose.pattern.outline import Piece, Point, Seam
from diagnose.sentences import listed
from diagnose.units import INCH_MM, Unit, both, short

__all__ = ["LevelFound", "levels_of", "no_waist"]

SAME_HEIGHT_MM = INCH_MM / 4
"""Pieces whose seams lie no farther apart in height lie at one height."""
WAISTS_AGREE_MM = INCH_MM
"""So near to one height the pieces must each be narrowest, for that to be the waist of all."""
LEG_ENDS = 4
A_WAIST_MM = 5.25 * INCH_MM
"""How high a waist may lie: what stands in the line to write, to be put right."""
MOST_NAMED = 6
"""More pieces in one sentence nobody reads."""
BY_TIPS = "through the tips of the slits, where tabs begin"
Levels = dict[str, tuple[Point, ...]]


class LevelFound(Struct, frozen=True):
    """A level: drawn or told by her, or laid by the program, and how in words."""

    station: str
    is_laid: bool
    why: str


def levels_of(
    proposal: Proposal, pieces: Sequence[Piece], seams: Sequence[Seam], unit: Unit
) -> tuple[dict[str, Levels], tuple[LevelFound, ...]]:
    """The levels of each piece by name, and how each station's was come by."""
    low = lowest_mm(proposal)
    told = {station: low + height for station, height in proposal.heights_mm.items()}
    if all(one.is_stored for one in proposal.pieces):
        found = {piece.name: _with_heights(piece, told, set(told)) for piece in pieces}
        return found, _found(pieces, found, told, how="")
    half = {pieces[n].name for n in chained(proposal.pieces)}
    half |= {ref.piece for one in seams for ref in one.refs}
    lifts = lifts_mm(pieces, seams)
    lifts |= _lifts_into_slits(pieces, seams, lifts)
    if lie_level(pieces) and all(abs(lift) <= SAME_HEIGHT_MM for lift in lifts.values()):
        lifts = {piece.name: 0.0 for piece in pieces}
    main = [piece for piece in pieces if piece.name in half]
    raised = [raised_by(piece, lifts.get(piece.name, 0.0)) for piece in main]
    is_level = lie_level(raised) and (half <= set(lifts) or lie_level(main))
    if not is_level:
        found = {p.name: _with_heights(p, {**presumed_heights([p]), **told}, set(told)) for p in pieces}
        how = "the pieces do not lie at one height, and each was given its own"
        return found, _found(pieces, found, told, how=how)
    heights = {**_narrowest_of_one(raised), **presumed_heights(raised), **_drawn_heights(raised)}
    tips = {piece.name: line for piece in main if "waist" not in heights and (line := through_tips(piece))}
    # What is set in, and sewn to nothing yet, lies on the drawing where there was room: no level is laid across it.
    found = {
        piece.name: _with_heights(piece, {s: y - lift for s, y in heights.items()} | told, set(told))
        if piece.name in half else dict(piece.levels)
        for piece in pieces for lift in (lifts.get(piece.name, 0.0),)
    }  # fmt: skip
    if tips:
        found = {name: _in_station_order({**({"waist": tips[name]} if name in tips else {}), **levels})
                 for name, levels in found.items()}  # fmt: skip
        return found, _found(pieces, found, told, how=BY_TIPS, by_tips=True)
    apart = any(lifts.values())
    carried = "carried along the seams from piece to piece, since the pieces lie at different heights"
    up = f"{both(heights['waist'] - low, unit)} up from the lowest point" if "waist" in heights else ""
    return found, _found(pieces, found, told, how=carried if apart else up)


def _lifts_into_slits(pieces: Sequence[Piece], seams: Sequence[Seam], lifts: Mapping[str, float]) -> dict[str, float]:
    """How far what is set into a slit must be raised for the point where its legs meet to lie at the slit's tip."""
    tips = {(piece.name, f"slit:{slit.name}"): slit.line[-1].y for piece in pieces for slit in piece.slits}
    ends: dict[tuple[str, str], list[Point]] = {}
    for seam in seams:
        if (seam.b.piece, seam.b.edge) in tips:
            leg = next(p for p in pieces if p.name == seam.a.piece).edge(seam.a.edge)
            ends.setdefault((seam.a.piece, seam.b.piece), []).extend((leg.start, leg.end))
    found: dict[str, float] = {}
    for seam in seams:
        points = ends.get((seam.a.piece, seam.b.piece), [])
        host = (seam.b.piece, seam.b.edge)
        if len(points) == LEG_ENDS and host in tips:
            tip = min(points[:2], key=lambda point: min(distance(point, other) for other in points[2:]))
            found[seam.a.piece] = lifts.get(seam.b.piece, 0.0) + tips[host] - tip.y
    return found


def _in_station_order(levels: Mapping[str, tuple[Point, ...]]) -> Levels:
    return {station: levels[station] for station in STATIONS if station in levels}


def _narrowest_of_one(pieces: Sequence[Piece]) -> dict[str, float]:
    """The waist as some of the pieces show it each for itself, where they agree, and all together do not show it."""
    own = [heights["waist"] for piece in pieces if "waist" in (heights := presumed_heights([piece]))]
    return {"waist": median(own)} if own and max(own) - min(own) <= WAISTS_AGREE_MM else {}


def _drawn_heights(pieces: Sequence[Piece]) -> dict[str, float]:
    """How high the levels lie that are drawn on some of the pieces."""
    rows = {station: [p.levels[station] for p in pieces if station in p.levels] for station in STATIONS}
    return {station: median(point.y for line in lines for point in line) for station, lines in rows.items() if lines}


def _found(
    pieces: Sequence[Piece], found: Mapping[str, Levels], told: Mapping[str, float], how: str, *, by_tips: bool = False
) -> tuple[LevelFound, ...]:
    """What is said of each station that has a level."""
    rows: list[LevelFound] = []
    for station in STATIONS:
        with_it = [name for name, levels in found.items() if station in levels]
        drawn = [piece.name for piece in pieces if station in piece.levels]
        if not with_it:
            continue
        if station in told or len(drawn) == len(with_it):
            rows.append(LevelFound(station, False, f"The {station} lies where you say."))
        elif drawn:
            bare = ", ".join(piece_quoted(name) for name in with_it if name not in drawn)
            rows.append(
                LevelFound(station, True, f"The {station} is not drawn on {bare}: it was run on from the others.")
            )
        elif station == "waist":
            place = "laid" if by_tips else "presumed at the narrowest place"
            rows.append(LevelFound(station, True, f"The waist was {place}{f', {how}' * bool(how)}."))
        else:
            rows.append(LevelFound(station, True, f"The {station} was laid where every piece is still whole."))
    return tuple(rows)


def _with_heights(piece: Piece, heights: Mapping[str, float], told: set[str]) -> Levels:
    """The piece's levels: told heights before its own, its own before presumed ones."""
    drawn = {station: line for station, height in heights.items() if (line := drawn_level(piece, height))}
    levels = {**drawn, **piece.levels, **{station: drawn[station] for station in told if station in drawn}}
    return {station: levels[station] for station in STATIONS if station in levels}


def _lies_down(piece: Piece) -> bool:
    box = bounds(piece)
    return box.wide > box.high


def no_waist(
    proposal: Proposal, pieces: Sequence[Proposed], levels: Mapping[str, Levels], unit: Unit
) -> list[Mistake]:  # fmt: skip
    """A mistake where no waist could be found."""
    if all(one.is_stored for one in pieces):
        return []
    half = [pieces[n].piece.name for n in chained(pieces)]
    high = max(bounds(one.piece).high for one in pieces)
    bare = [
        one for one in pieces
        if "waist" not in levels.get(one.piece.name, {}) and one.piece.name in half
        and bounds(one.piece).high > high / 2.0
    ]  # fmt: skip
    if not bare or (len(bare) < len(pieces) and lie_level([one.piece for one in pieces])):
        return []
    names = [piece_quoted(one.piece.name) for one in bare]
    names = names if len(names) <= MOST_NAMED else [*names[: MOST_NAMED - 1], f"{len(names) - MOST_NAMED + 1} more"]
    what = f"The waist can't be presumed for {listed(names)}: nowhere plainly narrower than above and below."
    if not proposal.is_table and all(_lies_down(one.piece) for one in bare):
        do = "Turn the drawing until they stand as they are worn, or draw a line along the grain in each."
        return [Mistake("waist", f"{what} They lie on their side, wider than high.", do, code="no-waist")]
    line = "# level: waist up=0" if proposal.is_table else f"levels: {{waist: {short(A_WAIST_MM, unit)}}}"
    where = "the table, with its height" if proposal.is_table else "a labels file, with its height"
    return [Mistake("waist", what, "", typed=f"Write in {where}: {line}", code="no-waist")]
