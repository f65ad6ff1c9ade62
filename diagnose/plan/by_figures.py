"""What is done by hand, said by the figures of this try-on.

The size by its girths, the bones by name and length, the toile by what it must measure, hold or be read at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diagnose.gap.reading import GapReading
from diagnose.model.diagnosis import Side
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.in_words import Bones, bone_number, bone_numbers, piece_title, piece_words
from diagnose.pattern.measure import (
    channel_length,
    garment_girth,
    ref_length,
    station_width,
)
from diagnose.pattern.outline import Pattern, Piece
from diagnose.plan.drawing.board import NotDrawnError
from diagnose.plan.drawing.half import halves_of
from diagnose.plan.wanted import Wanted
from diagnose.units import both

__all__ = ["by_the_figures"]

SIZE, BONES, TOILE = "start-from-another-size", "change-bones-or-lacing", "repair-the-toile"
MEASURED_FLAT = frozenset({"sewn-off-the-line", "print-scale-wrong", "cloth-stretched"})
"""Causes that show on the toile laid flat and held against the paper."""
WALKED = frozenset({"seam-lengths-unequal"})
BONED = frozenset({"toile-not-judgeable"})
LACED = frozenset({"laced-wrongly", "not-at-working-tension", "wrong-layer-beneath", "worn-out-of-place"})
AT_ENDS = frozenset({"bone-end-pokes", "busk-top-pokes"})


def by_the_figures(item: Wanted, reading: GapReading, pattern: Pattern | None, settings: Settings) -> Iterator[str]:
    """Sentences for a step that nothing is drawn for.

    Args:
        item: the alteration wanted.
        reading: the gap as it was read.
        pattern: her pattern, where there is one.
        settings: unit and how much shorter than its channel a bone is.
    """
    if item.alteration.id == SIZE:
        yield from _size(reading, pattern, settings)
    elif item.alteration.id == BONES and pattern is not None:
        yield from _bones(item, pattern, settings)
    elif item.alteration.id == TOILE:
        yield from _toile(item, reading, pattern, settings=settings)


def _toile(item: Wanted, reading: GapReading, pattern: Pattern | None, settings: Settings) -> Iterator[str]:
    """What the toile must measure on the table, what it must hold, or what its gap is then read against."""
    cause = item.cause.id
    if cause in LACED and reading.stations:
        aims = "; ".join(f"{station} {both(one.target_mm, settings.unit)}" for station, one in reading.stations.items())
        yield f"Then read the gap again at each of these and hold it against what is aimed at: {aims}."
    if pattern is None:
        return
    if cause in MEASURED_FLAT:
        yield from _flat(pattern, settings)
    elif cause in WALKED and pattern.seams:
        walked = "; ".join(
            f"{s.name.replace('-', ' ')} {both(ref_length(pattern, s.a), settings.unit)}" for s in pattern.seams
        )
        yield f"By the paper each edge of a seam measures: {walked}."
    elif cause in BONED:
        yield from _lengths(
            _body(pattern, item.side, settings), "in every channel", bone_numbers(pattern), settings=settings
        )


def _flat(pattern: Pattern, settings: Settings) -> Iterator[str]:
    """By the paper, the width of each panel at every level."""
    for station in STATIONS:
        widths = [
            f"{piece_title(piece.name)} {both(station_width(piece, station), settings.unit)}"
            for piece in _body(pattern, "both", settings)
            if station in piece.levels
        ]
        whole = garment_girth(pattern, station)
        if widths and whole is not None:
            yield (
                f"At the {station}, between the stitching lines: {', '.join(widths)}; the whole garment"
                f" {both(whole, settings.unit)}."
            )


def _size(reading: GapReading, pattern: Pattern | None, settings: Settings) -> Iterator[str]:
    """The girths that the other size should measure, edge to edge laid flat, at every station read."""
    said = []
    for station, one in reading.stations.items():
        way = "less" if one.change_mm > 0.0 else "more"
        by = f"{both(abs(one.change_mm), settings.unit)} {way} than now"
        girth = garment_girth(pattern, station) if pattern is not None else None
        if girth is not None:
            by = f"{both(girth - one.change_mm, settings.unit)}, {by}"
        said.append(f"{station} {by}{' at least' if one.at_least else ''}")
    if said:
        yield f"Choose the size that measures, the whole garment laid flat without its gap: {'; '.join(said)}."


def _bones(item: Wanted, pattern: Pattern, settings: Settings) -> Iterator[str]:
    """The bones meant, each with its length: all of them where ends are felt, else those beside the lacing."""
    pieces = _body(pattern, item.side, settings)
    if not pieces:
        return
    ends = any(evidence.finding in AT_ENDS for evidence in item.cause.for_)
    meant = pieces if ends else pieces[-1:]
    yield from _lengths(
        meant, "in every channel" if ends else f"in {piece_words(meant[-1].name)}, beside the edge that closes",
        bone_numbers(pattern), settings=settings,
    )  # fmt: skip


def _lengths(pieces: Iterable[Piece], where: str, bones: Bones, settings: Settings) -> Iterator[str]:
    short = 2.0 * settings.mm("bone-end")
    lengths = [
        f"{bone_number(bones, piece.name, channel.name)}: {both(channel_length(channel) - short, settings.unit)}"
        for piece in pieces
        for channel in piece.channels
        if channel_length(channel) > short
    ]
    if lengths:
        yield f"The bones {where}, cut to their channels less what stays empty, by number: {'; '.join(lengths)}."


def _body(pattern: Pattern, side: Side, settings: Settings) -> tuple[Piece, ...]:
    """The pieces of one half from front to back; none where the outline does not show them."""
    try:
        return halves_of(pattern, side, settings)[0].pieces
    except NotDrawnError:
        return ()
