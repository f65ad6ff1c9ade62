"""The gap in words: as it was read, and over the range of a body that changes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from diagnose.gap.range import GapRange, gap_range
from diagnose.gap.reading import GapReading, StationGap, today_of, usual_targets
from diagnose.gap.shares import share
from diagnose.model.settings import Settings
from diagnose.model.stations import Station
from diagnose.model.tryon import TryOn
from diagnose.sheets.words.parts import Said, paragraph, table, wrapped
from diagnose.units import LEAST_SAID_MM, Unit, both

if TYPE_CHECKING:  # a gap of bare numbers needs no rules
    from diagnose.rulebase.base import RuleBase

__all__ = ["SHAPES", "change_words", "gap_lines", "gap_words", "in_or_out", "range_lines"]

SHAPES = {
    "closed": "The edges meet all the way.",
    "parallel": "The edges run parallel.",
    "widens-downward": "The gap widens downward.",
    "widens-upward": "The gap widens upward.",
    "widest-at-waist": "The gap is widest at the waist, like ( ).",
    "narrowest-at-waist": "The gap is narrowest at the waist, like ) (.",
}


PART_SHAPES = {
    "closed": "meets all the way",
    "parallel": "runs parallel",
    "widens-downward": "widens downward",
    "widens-upward": "widens upward",
    "widest-at-waist": "is widest at the waist",
    "narrowest-at-waist": "is narrowest at the waist",
}


def _parts(reading: GapReading) -> Iterator[str]:
    """Each lacing for itself, where a garment laces front and back."""
    for part, shape in reading.part_shapes.items():
        if shape is not None:
            yield f"That in the {part} {PART_SHAPES[shape]}."


def gap_lines(reading: GapReading, seams: int | None, settings: Settings) -> Iterator[Said]:
    """The gap at each station against its target, its shape, and the change wanted."""
    unit = settings.unit
    rows = (
        (
            name,
            "closed" if station.closed else both(station.gap_mm, unit),
            both(station.target_mm, unit),
            change_words(station, settings.mm("dead-band"), unit),
        )
        for name, station in reading.stations.items()
    )
    yield from paragraph("The lacing gap", style="bold")
    yield ""
    yield from table(("at the", "read", "aimed at", "change wanted"), rows)
    yield ""
    if reading.shape:
        yield from wrapped(" ".join((SHAPES[reading.shape], *_parts(reading))))
    yield from _halving(reading, seams, settings)
    if reading.presumed_target:
        usual = usual_targets(settings)
        taken = both(usual["waist"], unit)
        if len(set(usual.values())) > 1:
            taken = f"{both(usual['top'], unit)} at the top, {taken} at the waist, {both(usual['bottom'], unit)} below"
        yield from wrapped(f"No target was given; {taken} was taken. Give yours with --target.")
    if reading.at_least:
        yield from wrapped(
            "A closed gap only says “at least”. Measure how far the edges would lap over and give it with --lap."
        )
    widest = max(station.gap_mm for station in reading.stations.values())
    if widest > settings.mm("gap-widest"):
        yield from wrapped(f"A gap over {both(settings.mm('gap-widest'), unit)} lets the flesh stand up in a ridge.")


def change_words(station: StationGap, dead_band_mm: float, unit: Unit) -> str:
    """The change wanted at a station; within the dead-band it is right."""
    if abs(station.change_mm) < dead_band_mm:
        return "right" if not station.at_least else "right, or more"
    least = "at least " if station.at_least else ""
    return f"{in_or_out(station.change_mm)} {least}{both(abs(station.change_mm), unit)}"


def gap_words(gap_mm: float, unit: Unit) -> str:
    """A gap as it was read or is foreseen; edges that would lap over have one below nothing."""
    if abs(gap_mm) < LEAST_SAID_MM:
        return "closed"
    return both(gap_mm, unit) if gap_mm > 0.0 else f"laps over {both(-gap_mm, unit)}"


def in_or_out(girth_mm: float) -> str:
    """What is done to a girth to change it by so much; take in is positive."""
    return "take in" if girth_mm > 0 else "let out"


def _halving(reading: GapReading, seams: int | None, settings: Settings) -> Iterator[Said]:
    """The change wanted per half, per seam and per stitching line, at the station that wants most."""
    name, most = max(reading.stations.items(), key=lambda item: abs(item[1].change_mm))
    if abs(most.change_mm) < settings.mm("dead-band"):
        yield from wrapped(f"Nothing to alter: {both(settings.mm('dead-band'), settings.unit)} is lacing noise.")
        return
    part = share(most.change_mm, seams, settings.ruler_mm)
    text = f"At the {name} that is {both(abs(part.per_half_mm), settings.unit)} on each half"
    if part.per_seam_mm is not None and part.per_edge_mm is not None:
        text += f", {both(abs(part.per_seam_mm), settings.unit)} a seam over {seams} seams"
        text += f", {both(abs(part.per_edge_mm), settings.unit)} on each stitching line"
    yield from wrapped(text + ".")


STANDS = {"smallest": "at its smallest", "usual": "midway", "largest": "at its largest"}


def range_lines(
    tryon: TryOn, reading: GapReading, predicted: Mapping[Station, float], base: RuleBase, unit: Unit
) -> Iterator[str]:
    """How the gap runs over her range; nothing for a body that stays as it is.

    Args:
        tryon: says by how much the body changes, and where it stands today.
        reading: the gap of today; predicted: after the first round, by station.
        base: for the limits; unit: the maker's.
    """
    changes_mm, today = tryon.wearer.changes_by_mm, today_of(tryon)
    if not changes_mm or not reading.stations:
        return
    narrowest, widest = base.settings.mm("gap-narrowest"), base.settings.mm("gap-widest")
    yield (
        f"The body changes by {both(changes_mm, unit)} from smallest to largest, and stands {STANDS[today]} "
        f"today. The gap is to stay between {both(narrowest, unit)} and {both(widest, unit)} over all of that."
    )
    for name, one in reading.stations.items():
        after = gap_range(predicted.get(name, one.apart_mm), today, changes_mm)
        changed = f"it runs from {_run(gap_range(one.apart_mm, today, changes_mm), unit)}"
        if name in predicted:
            changed += f", and after this round from {_run(after, unit)}"
        yield f"At the {name} {changed}{_misses(after, GapRange(narrowest, widest), unit)}."


def _run(run: GapRange, unit: Unit) -> str:
    least = f"a lap of {both(-run.narrowest_mm, unit)}" if run.narrowest_mm < 0 else both(run.narrowest_mm, unit)
    return f"{least} to {both(run.widest_mm, unit)}"


def _misses(run: GapRange, limits: GapRange, unit: Unit) -> str:
    """What of the range still lies outside the limits."""
    if run.inside(limits):
        return ""
    ends = {
        "too narrow on her smallest days": limits.narrowest_mm - run.narrowest_mm,
        "too wide on her largest": run.widest_mm - limits.widest_mm,
    }
    return "; " + " and ".join(f"{both(by, unit)} {what}" for what, by in ends.items() if by > 1e-6)
