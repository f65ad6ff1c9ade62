"""The fitting sheet for the terminal: legible at 80 columns and without colour."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.sentences import counted, lower_first
from diagnose.sheets.view_model import FROM_THE_GAP, CauseView, Fact, GapRow, SheetView, StepView, StopView
from diagnose.sheets.words import wording as w
from diagnose.sheets.words.parts import Said, heading, item, paragraph, plain_lines, table

__all__ = ["brief_lines", "plan_lines", "short_plan"]

BAR = 10
MOST_CAUSES = 3

SCREEN = 24
"""Lines of a usual terminal: the plan in short fits it."""

SHORT_CAUSES = 2

SENTENCE_END = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")


def short_plan(view: SheetView) -> Iterator[Said]:
    """The plan on one screen: what did not come out, what to do and how much, how it is drawn, what it should show."""
    if view.stop:
        yield from _head(view)
        yield from _stop(view.stop)
        return
    end = [*_short_end(view)]
    parts = list[Said](paragraph(view.title, style="bold"))
    parts += paragraph(" · ".join(part for part in (view.version, view.date) if part))
    for line in view.reopened[:1]:
        parts += paragraph(line, style="bold")
    parts += heading("Do this first")
    parts += paragraph(view.nothing) if view.nothing else ()
    gap = [*_short_table(view)]
    room = SCREEN - 1 - _high([*parts, *gap, *end])
    first = [*_short_first(view)]
    if _high(first) > room:
        first = [*_short_first(view, sentences=1)]
    yield from (*parts, *first, *gap, *_short_steps(view, room - _high(first)), *end)


def _high(said: Iterable[Said]) -> int:
    """How many lines it takes."""
    return len([*plain_lines(said)])


def _short_first(view: SheetView, sentences: int | None = None) -> Iterator[Said]:
    """What to do and how much, with as many sentences of each remark on it; all of them when left out."""
    for step in view.first:
        side = f" ({step.side})" if step.side else ""
        figure = f": {step.figure} {step.figure_of}".rstrip() if step.figure else ""
        yield from paragraph(f"{step.title}{side}{figure}", style="bold")
        for text in step.remarks:
            yield from paragraph(" ".join(SENTENCE_END.split(text)[:sentences]), 2)


def _short_table(view: SheetView) -> Iterator[Said]:
    """The gap and what is done about it, a row a station."""
    gaps, half = {row.station: row for row in view.gap}, view.halves
    told = {*gaps, *half}
    rows = []
    for station in (name for name in STATIONS if name in told):
        row = gaps.get(station)
        read, aim, then = (row.read, row.target, row.predicted) if row else ("", "", "")
        rows.append((station, read, aim, half.get(station, ""), then))
    if rows:
        heads = ("at the", "gap", "aim", "each half" if half else "", "then" if any(row[4] for row in rows) else "")
        yield from table(heads, [[w.in_first_unit(cell) for cell in row] for row in rows])


def _short_steps(view: SheetView, room: int) -> Iterator[Said]:
    """As many of the steps by hand as there is room for, a line or two each."""
    shown = list[Said]()
    for number, step in enumerate(view.steps, 1):
        more = [*item(step.brief or step.text, f"{number}.")]
        left = "   … and " + counted(len(view.steps) - number + 1, "more [step|steps]")
        room -= _high(more)
        if room < 1 + (number < len(view.steps)):
            if shown:
                shown += paragraph(left)
            break
        shown += more
    if shown:
        yield from paragraph("By hand:", style="bold")
        yield from shown


def _short_end(view: SheetView) -> Iterator[Said]:
    if view.causes:
        said = [
            f"{lower_first(cause.title)}{f', {cause.side}' if cause.side else ''} ({cause.chance})"
            for cause in view.causes[:SHORT_CAUSES]
        ]
        yield from paragraph(f"It comes from: {'; '.join(said)}.")
    for line in view.expect[:1]:
        yield from paragraph(f"The next try-on: {lower_first(line)}")
    if view.ask:
        yield from paragraph(f"It would help to know: {view.ask[0].text}")
    yield from paragraph("Everything else: --all. Drawn: diagnose sheet CASE --out FILE", style="dim")


def plan_lines(view: SheetView) -> Iterator[Said]:
    """The findings, the plan and what speaks for it."""
    yield from _head(view)
    if view.stop:
        yield from _stop(view.stop)
        return
    yield from _list("It did not come out as foreseen", view.reopened)
    yield from heading("Do this first")
    yield from paragraph(view.nothing) if view.nothing else ()
    for step in view.first:
        yield from _step(step)
    yield from _facts("What the try-on shows", view.findings, quiet=True)
    if view.absent:
        yield from paragraph(f"Looked for and not there: {'; '.join(view.absent)}.")
    yield from _gap(view)
    if view.causes:
        yield from heading("Why")
        for cause in view.causes:
            yield from _cause(cause)
        yield from paragraph(view.near) if view.near else ()
    yield from _hand(view)
    yield from _list("What the next try-on should show", view.expect)
    yield from _later(view)
    yield from _facts("Held back, and why", view.held)
    yield from _list("From toile to garment", view.finish)
    yield from _facts("Look, measure, and answer", view.ask)
    yield from _list("Taken for granted", view.presumed)
    yield from _list("Cautions", view.cautions)


def _head(view: SheetView) -> Iterator[Said]:
    yield from paragraph(view.title, style="bold")
    yield from paragraph(" · ".join(part for part in (view.garment, view.version, view.date) if part))


def _stop(stop: StopView) -> Iterator[Said]:
    yield from heading("STOP. UNLACE NOW.", "bold red")
    for flag in stop.flags:
        yield from paragraph(flag.text)
        yield from paragraph(flag.more, 2)
    yield from paragraph("Nothing about the pattern is judged until this is clear.")


def brief_lines(view: SheetView) -> Iterator[Said]:
    """What a maker laced in wants to know: what shows, what to do now, and what should have changed the next time."""
    yield from paragraph(view.title)
    if view.stop:
        yield from _stop(view.stop)
        return
    seen = [lower_first(found.text) for found in view.findings if found.more != FROM_THE_GAP]
    if seen:
        yield from paragraph(f"Seen: {'; '.join(seen)}.")
    if view.gap:
        yield from paragraph(f"{view.gap_shape} {_readings(view.gap)}".strip())
    for cause in view.causes[:MOST_CAUSES]:
        side = f", {cause.side}" if cause.side else ""
        yield from paragraph(f"It comes from: {lower_first(cause.title)}{side}, {cause.sure} ({cause.chance}).")
    yield from paragraph(view.near) if view.near else ()
    yield from paragraph(f"{view.reopened[0]} See below before you cut.") if view.reopened else ()
    yield from heading("Do this first")
    yield from paragraph(view.nothing) if view.nothing else ()
    for step in view.first:
        yield from _step(replace(step, why=""))
    yield from _list("It did not come out as foreseen", view.reopened[1:])
    yield from _list("What the next try-on should show", view.expect)
    for line in view.body:
        yield from paragraph(line)
    if view.held:
        waiting = dict.fromkeys(lower_first(held.text) for held in view.held)
        yield from paragraph(f"Waiting until then: {'; '.join(waiting)}.")
    if view.finish:
        yield from paragraph(
            "The pattern can go to the garment; the whole sheet says what carries over and what to check first."
        )
    open_ = (ask.text for ask in view.ask if not any(ask.text in line for line in view.reopened))
    yield from _list("It would help to know", tuple(open_))


def _readings(gap: Sequence[GapRow]) -> str:
    """The gap in a line; the target once, when it is the same all the way down."""
    targets = {row.target for row in gap}
    if len(targets) == 1:
        return f"Gap: {'; '.join(f'{row.station} {row.read}' for row in gap)}; aimed at {targets.pop()}."
    return f"Gap: {'; '.join(f'{row.station} {row.read}, aimed at {row.target}' for row in gap)}."


def _step(step: StepView) -> Iterator[Said]:
    side = f" ({step.side})" if step.side else ""
    yield from paragraph(f"{step.title}{side}", style="bold")
    if step.figure:
        yield from paragraph(f"{step.figure} {step.figure_of}".strip(), 2)
    if step.rows:
        yield from table(("at the", step.rows_of), step.rows, 2)
    for text in (step.at, *step.remarks, step.why):
        yield from paragraph(text, 2) if text else ()


def _gap(view: SheetView) -> Iterator[Said]:
    if view.gap:
        yield from heading("The lacing gap")
        aims = dict.fromkeys(row.target for row in view.gap)
        aim = f"Aimed at {next(iter(aims))} at every level." if len(aims) == 1 else ""
        yield from paragraph(f"{view.gap_shape} {aim}".strip())
        foreseen, many = any(row.predicted for row in view.gap), len(aims) > 1
        rows = [
            (row.station, row.read, *([row.target] if many else []), row.change, *([row.predicted] if foreseen else []))
            for row in view.gap
        ]
        yield from table(("at the", "read", *(["aim"] if many else []), "wants", *(["then"] if foreseen else [])), rows)
        for line in view.body:
            yield from paragraph(line)


def _cause(cause: CauseView) -> Iterator[Said]:
    side = f", {cause.side}" if cause.side else ""
    yield from paragraph(f"{cause.title}{side}: {cause.sure} ({cause.chance})")
    for mark, weights in (("+", cause.for_), ("-", cause.against)):
        for one in weights:
            bar = mark * max(1, round(BAR * one.share))
            yield from item(f"{one.text.rstrip('.')}, {one.strength}", f"{bar:>{BAR}}")


def _hand(view: SheetView) -> Iterator[Said]:
    if view.steps:
        yield from heading("With ruler and pencil")
    for number, step in enumerate(view.steps, 1):
        yield from item(step.text, f"{number}.")
        if step.table:
            yield from table(("", ""), step.table, 4)
    yield from _list("What this does to the paper", view.paper)


def _later(view: SheetView) -> Iterator[Said]:
    for later in view.later:
        yield from heading(f"After that, round {later.number}")
        for step in later.steps:
            yield from item(" ".join(part for part in (step.title, step.side, step.figure, step.figure_of) if part))


def _facts(title: str, facts: tuple[Fact, ...], *, quiet: bool = False) -> Iterator[Said]:
    if facts:
        yield from heading(title)
    for fact in facts:
        more = (f" ({fact.more})" if quiet else f" {fact.more}") if fact.more else ""
        end = "" if quiet or fact.text[-1:] in ".?!" else "."
        yield from item(f"{fact.text}{end}{more}")


def _list(title: str, lines: tuple[str, ...]) -> Iterator[Said]:
    if lines:
        yield from heading(title)
        for line in lines:
            yield from item(line)
