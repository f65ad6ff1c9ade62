"""What is beyond belief in a pattern that came from outside: asked about, never stored unsaid.

The figures come from the rule base and from the wearer; here they are only held. Each doubt carries the code
``sure-WORD``: the word settles it, with ``--sure WORD`` or ``sure: [WORD]`` in a labels file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct, field

from diagnose.errors import Mistake
from diagnose.pattern.in_words import piece_quoted
from diagnose.pattern.measure import bounds, garment_girth, opens_at
from diagnose.pattern.outline import Pattern
from diagnose.units import UNIT_MM, Unit, both

__all__ = ["APART", "NO_LIMITS", "PART", "SURE_WORDS", "Believable", "doubt", "doubts_of", "read_in"]

PART = "part"
"""That the pattern is only part of a garment settles every doubt."""

APART = "apart"
"""That pieces that are alike are pieces of their own, none of them another's half."""

SURE_WORDS = (
    "part", "waist", "underbust", "hip", "height", "lacing", "seams", "order", "front", "middle", "pixels", "rows",
    "twins", APART,
)  # fmt: skip
"""What may be said to be so, though it is beyond belief."""

_SPARE = 1e-6
Range = tuple[float, float]


class Believable(Struct, frozen=True):
    """What can be believed, in mm.

    Attributes:
        waist: of the whole garment at the waist, edge to edge.
        height: of its tallest piece.
        share: what part of the body's girth garment and gap together may be.
        body: the wearer's girths by station, as far as they are known.
        gap: the gap aimed at by station.
        is_whole: whether it must be a whole half of a garment: laced or open somewhere, sewn throughout.
    """

    waist: Range | None = None
    height: Range | None = None
    share: Range | None = None
    body: Mapping[str, float] = field(default_factory=dict)
    gap: Mapping[str, float] = field(default_factory=dict)
    is_whole: bool = False


NO_LIMITS = Believable()


def doubts_of(
    pattern: Pattern, believable: Believable, unit: Unit = "in", told_mm: float | None = None, *, is_table: bool = False
) -> Iterator[Mistake]:
    """What of the pattern is beyond belief.

    Args:
        pattern: as it was read.
        believable: what can be believed.
        unit: hers, for the figures.
        told_mm: what one unit of the file was taken for, where the file did not say so itself.
        is_table: whether it came as a point table, in which remedies are then written.
    """
    waist = garment_girth(pattern, "waist")
    other = _other_unit(pattern, believable, told_mm) if told_mm else ""
    if waist is not None and not _within(waist, believable.waist):
        what = f"The whole waist comes to {both(waist, unit)}, edge to edge: that is beyond belief."
        yield doubt("waist", what, typed=other)
    elif waist is not None:
        yield from _against_her(pattern, believable, unit)
    high = max(bounds(piece).high for piece in pattern.pieces)
    if not _within(high, believable.height):
        yield doubt("height", f"The tallest piece is {both(high, unit)} high: that is beyond belief.", typed=other)
    if believable.is_whole and not any(e.role in ("lacing", "opening") for p in pattern.pieces for e in p.edges):
        yield _unlaced(pattern, is_table=is_table)


def _unlaced(pattern: Pattern, *, is_table: bool) -> Mistake:
    """That nothing is laced, and the line that would say what is: the back edge of the last piece most likely."""
    last = pattern.pieces[-1]
    seams = [edge.name for edge in last.edges if edge.role == "seam"] or [edge.name for edge in last.edges]
    what = f"No edge is laced or opens. {piece_quoted(last.name)} has these seams: {', '.join(seams)}."
    if is_table:
        typed = f"Write lacing as the role in the rows of the edge that is laced, as {last.name}/{seams[0]}"
        return doubt("lacing", what, typed=typed)
    line = f"pieces: {{{last.name}: {{edges: {{{seams[0]}: {{role: lacing}}}}}}}}"
    return doubt("lacing", what, typed=f"Write in a labels file, with the edge that is laced: {line}")


def _against_her(pattern: Pattern, believable: Believable, unit: Unit) -> Iterator[Mistake]:
    """Stations where garment and gap are plainly not of this wearer."""
    for station, body in believable.body.items():
        girth = garment_girth(pattern, station)
        if girth is None or believable.share is None or _opens(pattern, station):
            continue
        laced = girth + believable.gap.get(station, 0.0)
        if not _within(laced / body, believable.share):
            what = (
                f"The whole {station} comes to {both(girth, unit)}, and to {both(laced, unit)} with the gap, but the "
                f"wearer measures {both(body, unit)} there."
            )
            yield doubt(station, what, "Look at the unit of both, and whose pattern it is.")


def _opens(pattern: Pattern, station: str) -> bool:
    """Whether slits stand open at a station, as between tabs: the paper is then narrower than what goes round her."""
    return any(
        name == station and opens_at(level, slit)
        for piece in pattern.pieces for name, level in piece.levels.items() for slit in piece.slits
    )  # fmt: skip


def doubt(word: str, what: str, do: str = "Look at its unit and scale.", *, typed: str = "") -> Mistake:
    """That something is beyond belief, what to look at, or type instead; and the word that says that it is so."""
    part = ", or --sure part where it is only part of a garment" if word in ("waist", "lacing") else ""
    so = f"If it is so, say --sure {word}{part}."
    return Mistake(word, what, "" if typed else do, typed=f"{typed}. {so}" if typed else so, code=f"sure-{word}")


def _within(value: float, limits: Range | None) -> bool:
    return limits is None or limits[0] - _SPARE <= value <= limits[1] + _SPARE


def _other_unit(pattern: Pattern, believable: Believable, told_mm: float) -> str:
    """The units in which it could be believed."""
    waist = garment_girth(pattern, "waist") or 0.0
    high = max(bounds(piece).high for piece in pattern.pieces)
    return " ".join(
        read_in(name, waist * mm / told_mm) for name, mm in UNIT_MM.items()
        if _within(waist * mm / told_mm, believable.waist) and _within(high * mm / told_mm, believable.height)
    )  # fmt: skip


def read_in(unit: str, waist_mm: float) -> str:
    """The remedy: the whole waist as it would be in another unit, and the word that says so."""
    return f"Read in {unit} it is {both(waist_mm, 'in' if unit == 'in' else 'cm')}: say --unit {unit}"
