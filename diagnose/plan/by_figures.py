"""What is done by hand, said by the figures of this try-on: the size by its girths, the bones by name and length."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.gap.reading import GapReading
from diagnose.model.settings import Settings
from diagnose.pattern.measure import channel_length, garment_girth
from diagnose.pattern.outline import Pattern
from diagnose.plan.choosing import Wanted
from diagnose.plan.drawing.board import NotDrawnError
from diagnose.plan.drawing.half import halves_of
from diagnose.units import both

__all__ = ["by_the_figures"]

SIZE, BONES = "start-from-another-size", "change-bones-or-lacing"
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
    try:
        pieces = halves_of(pattern, item.side)[0].pieces
    except NotDrawnError:
        return
    ends = any(evidence.finding in AT_ENDS for evidence in item.cause.for_)
    meant = pieces if ends else pieces[-1:]
    short = 2.0 * settings.mm("bone-end")
    lengths = [
        f"{channel.name} {both(channel_length(channel) - short, settings.unit)}"
        for piece in meant
        for channel in piece.channels
        if channel_length(channel) > short
    ]
    if lengths:
        where = "in every channel" if ends else f"in '{meant[-1].name}', beside the edge that closes"
        yield f"The bones {where}, cut to their channels less what stays empty: {', '.join(lengths)}."
