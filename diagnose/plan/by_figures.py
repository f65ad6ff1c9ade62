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
from diagnose.rulebase.reading.entries import FiguresTold
from diagnose.units import both

__all__ = ["by_the_figures"]


def by_the_figures(item: Wanted, reading: GapReading, pattern: Pattern | None, settings: Settings) -> Iterator[str]:
    """Sentences for a step that nothing is drawn for, where its rule says which figures are told.

    Args:
        item: the alteration wanted.
        reading: the gap as it was read.
        pattern: her pattern, where there is one.
        settings: unit and how much shorter than its channel a bone is.
    """
    told = item.choice.figures
    if told is None:
        return
    if told.what == "size":
        yield from _size(reading, pattern, settings)
    elif told.what == "aims":
        yield from _aims(reading, settings)
    elif pattern is not None and told.what == "flat":
        yield from _flat(pattern, settings)
    elif pattern is not None and told.what == "walked":
        yield from _walked(pattern, settings)
    elif pattern is not None:
        yield from _bones(item, told, pattern, settings=settings)


def _aims(reading: GapReading, settings: Settings) -> Iterator[str]:
    aims = "; ".join(f"{station} {both(one.target_mm, settings.unit)}" for station, one in reading.stations.items())
    if aims:
        yield f"Then read the gap again at each of these and hold it against what is aimed at: {aims}."


def _walked(pattern: Pattern, settings: Settings) -> Iterator[str]:
    walked = "; ".join(
        f"{s.name.replace('-', ' ')} {both(ref_length(pattern, s.a), settings.unit)}" for s in pattern.seams
    )
    if walked:
        yield f"By the paper each edge of a seam measures: {walked}."


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


def _bones(item: Wanted, told: FiguresTold, pattern: Pattern, settings: Settings) -> Iterator[str]:
    """The bones meant, each with its length: all of the half, or those beside the edge that closes."""
    pieces, where = _body(pattern, item.side, settings), "in every channel"
    shown = {evidence.finding for evidence in item.cause.for_}
    if pieces and told.everywhere_for is not None and shown.isdisjoint(told.everywhere_for):
        pieces = pieces[-1:]
        where = f"in {piece_words(pieces[0].name)}, beside the edge that closes"
    yield from _lengths(pieces, where, bone_numbers(pattern), settings=settings)


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
