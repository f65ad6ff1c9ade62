"""Each alteration drawn, by the amount of its own example, into a bundled pattern that has the place for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from msgspec import Struct

from diagnose.errors import FitError
from diagnose.model.diagnosis import Amount, CauseFound
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.in_words import Note, bone_numbers, notes_said
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases
from diagnose.plan.drawing import Drawn, draw
from diagnose.plan.profiles import Profile, profile_of, station_heights
from diagnose.plan.wanted import Wanted
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration, AlterationChoice
from diagnose.sheets.drawn.drawing import Drawing
from diagnose.sheets.drawn.pattern_drawing import redrawn_pieces
from diagnose.sheets.drawn.pieces_drawn import figures_of
from diagnose.sheets.drawn.screens import page_picture
from diagnose.sheets.hand.by_hand import steps_for
from diagnose.sheets.hand.figures import HandStep
from diagnose.sheets.words.wording import big_figure, filled

__all__ = ["Worked", "bundled_patterns", "work_example"]

PATTERNS = (
    "six-panel-corset.json", "boned-bodies.json", "gored-corset.json", "front-laced-stays.json", "sleeved-bodice.json",
)  # fmt: skip
FOR_THE_HAND = "No line of the pattern moves: this is done to the toile, its bones or its fastening."
MOST_OPERATIONS = 4
"""Where more lines move than this, the figures in the picture tell it shorter than steps on every one of them."""


class Worked(Struct, frozen=True):
    """An alteration as the handbook shows it.

    Attributes:
        by_hand: the rule's own steps with the figures of the example in them.
        figure: the amount of the example in words, and what it is of; empty where it has none.
        pattern: the name of the pattern it is drawn into; empty where it is not drawn.
        picture: the pattern before and after; None where it is not drawn.
        steps: how it is drawn by ruler and pencil on that very pattern, where that takes few.
        notes: what the drawing had to say, or why there is none.
    """

    by_hand: tuple[str, ...]
    figure: str = ""
    pattern: str = ""
    picture: Drawing | None = None
    steps: tuple[HandStep, ...] = ()
    notes: tuple[str, ...] = ()


def bundled_patterns() -> tuple[Pattern, ...]:
    """The patterns that examples are drawn into, those with many seams first."""
    return tuple(load_pattern(bundled_cases() / "patterns" / name) for name in PATTERNS)


def work_example(alteration: Alteration, base: RuleBase, patterns: Sequence[Pattern]) -> Worked:
    """The alteration worked on the first pattern that it can be drawn into.

    Args:
        alteration: what is done.
        base: its rule base; of its causes the first whose choice can be drawn is taken.
        patterns: where to try it, best first.
    """
    said: tuple[Note, ...] = ()
    for pattern, item in product(patterns, _wanted(alteration, base)):
        drawn = draw(item, pattern, base.settings)
        if drawn.operations and drawn.pattern is not None:
            return _worked(item, pattern, drawn, settings=base.settings)
        said = said or drawn.notes
    if all(move.do == "note" for move in alteration.moves):
        said = said or (FOR_THE_HAND,)
    first = next(_wanted(alteration, base), None)
    amount = first.amount if first else Amount()
    return Worked(
        filled(alteration.by_hand, amount, base.settings.unit),
        _figure(alteration, amount, base.settings),
        notes=notes_said(said, {}),
    )


def _wanted(alteration: Alteration, base: RuleBase) -> Iterator[Wanted]:
    """The alteration as each of its causes would want it, by the amount of its first example."""
    amount_mm = next((one.amount for one in alteration.examples if one.amount is not None), None)
    for cause in base.entries.causes.values():
        found = CauseFound(cause.id, 1.0, "both", for_=(), against=())
        for choice in (one for one in cause.alterations if one.alteration == alteration.id):
            profile = dict.fromkeys(STATIONS, 0.0)
            amount = Amount(length_mm=amount_mm)
            if alteration.kind == "girth" and amount_mm is not None:
                profile = _profile(amount_mm, alteration, choice, settings=base.settings)
                amount = Amount(amount_mm, amount_mm / 2.0, by_station_mm=profile)
            yield Wanted(alteration, choice, found, side="both", amount=amount, profile=profile, capped=False)


def _profile(amount_mm: float, alteration: Alteration, choice: AlterationChoice, settings: Settings) -> Profile:
    """The change at each station; what may go either way is shown as a wedge, in at the top and out at the bottom."""
    changes: Profile = dict.fromkeys(STATIONS, amount_mm)
    if alteration.direction == "either" and "each" in choice.stations:
        heights = station_heights(settings)
        low, high = min(heights.values()), max(heights.values())
        changes = {one: amount_mm * (2.0 * (heights[one] - low) / (high - low) - 1.0) for one in STATIONS}
    return profile_of(amount_mm, changes, alteration, choice=choice, settings=settings)


def _worked(item: Wanted, before: Pattern, drawn: Drawn, settings: Settings) -> Worked:
    after = drawn.pattern or before
    by_hand = filled(item.alteration.by_hand, drawn.amount, settings.unit)
    figure = _figure(item.alteration, drawn.amount, settings)
    steps = _steps(before, after, drawn, settings=settings)
    picture = _picture(before, after, drawn, steps=steps, settings=settings)
    return Worked(
        by_hand,
        figure,
        before.name,
        picture=picture,
        steps=steps,
        notes=notes_said(drawn.notes, bone_numbers(before, after)),
    )


def _steps(before: Pattern, after: Pattern, drawn: Drawn, settings: Settings) -> tuple[HandStep, ...]:
    """The steps on this very pattern; none where they would be too many or can't be done one by one."""
    if len(drawn.operations) > MOST_OPERATIONS:
        return ()
    try:
        made = drawn.on_paper.made if drawn.on_paper is not None else ()
        return steps_for(drawn.operations, before, after, unit=settings.unit, made=made)
    except FitError:
        return ()


def _picture(before: Pattern, after: Pattern, drawn: Drawn, steps: Sequence[HandStep], settings: Settings) -> Drawing:
    """The changed pieces with the work where it is done; the whole pattern where only marks have changed."""
    names = redrawn_pieces(before, after) or after.names
    zones = drawn.on_paper.altered.zones if drawn.on_paper is not None else ()
    letters = [mark for step in steps for mark in step.marks]
    return page_picture(figures_of(after, before, settings.unit, only=names, zones=zones, letters=letters))


def _figure(alteration: Alteration, amount: Amount, settings: Settings) -> str:
    return " ".join(part for part in big_figure(amount, settings.unit, alteration.ways) if part)
