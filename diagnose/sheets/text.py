"""The same sheet for the terminal: 80 columns, no need of colour, nothing the maker wrote taken for markup."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from diagnose.rulebase.schema import in_sentence
from diagnose.sheets.view_model import FROM_THE_GAP, CauseView, Fact, GapRow, SheetView, StepView, StopView

__all__ = ["WIDTH", "render", "render_brief"]

WIDTH = 80
BAR = 10
MOST_CAUSES = 3


def render(view: SheetView) -> RenderableType:
    """The findings, the plan and what speaks for it, for `rich` to print at 80 columns."""
    return Group(*_parts(view))


def _parts(view: SheetView) -> Iterator[RenderableType]:
    yield from _head(view)
    if view.stop:
        yield from _stop(view.stop)
        return
    yield from _list("It did not come out as foreseen", view.reopened)
    yield _heading("Do this first")
    yield from [_plain(view.nothing)] if view.nothing else []
    for step in view.first:
        yield from _step(step)
    yield from _facts("What the try-on shows", view.findings, quiet=True)
    if view.absent:
        yield _plain(f"Looked for and not there: {'; '.join(view.absent)}.")
    yield from _gap(view)
    if view.causes:
        yield _heading("Why")
        for cause in view.causes:
            yield from _cause(cause)
        yield from [_plain(view.near)] if view.near else []
    yield from _hand(view)
    yield from _list("What the next try-on should show", view.expect)
    yield from _later(view)
    yield from _facts("Held back, and why", view.held)
    yield from _list("From toile to garment", view.finish)
    yield from _facts("Look, measure, and answer", view.ask)
    yield from _list("Taken for granted", view.presumed)
    yield from _list("Cautions", view.cautions)


def _head(view: SheetView) -> Iterator[RenderableType]:
    yield _text(view.title, "bold")
    yield _plain(" · ".join(part for part in (view.garment, view.version, view.date) if part))


def _stop(stop: StopView) -> Iterator[RenderableType]:
    yield _heading("STOP. UNLACE NOW.")
    for flag in stop.flags:
        yield _text(flag.text, "bold")
        yield _plain(flag.more, 2)
    yield _plain("Nothing about the pattern is judged until this is clear.")


def render_brief(view: SheetView) -> RenderableType:
    """What a maker laced in wants to know: what shows, what to do now, and what should have changed the next time."""
    return Group(*_brief(view))


def _brief(view: SheetView) -> Iterator[RenderableType]:
    yield _text(view.title, "bold")
    if view.stop:
        yield from _stop(view.stop)
        return
    seen = [in_sentence(found.text) for found in view.findings if found.more != FROM_THE_GAP]
    if seen:
        yield _plain(f"Seen: {'; '.join(seen)}.")
    if view.gap:
        yield _plain(f"{view.gap_shape} {_readings(view.gap)}".strip())
    for cause in view.causes[:MOST_CAUSES]:
        side = f", {cause.side}" if cause.side else ""
        yield _plain(f"It comes from: {in_sentence(cause.title)}{side}, {cause.sure} ({cause.percent} in 100).")
    yield from [_plain(view.near)] if view.near else []
    yield from [_plain(f"{view.reopened[0]} See below before you cut.")] if view.reopened else []
    yield _heading("Do this first")
    yield from [_plain(view.nothing)] if view.nothing else []
    for step in view.first:
        yield from _step(replace(step, why=""))
    yield from _list("It did not come out as foreseen", view.reopened[1:])
    yield from _list("What the next try-on should show", view.expect)
    yield from (_plain(line) for line in view.body)
    if view.held:
        waiting = dict.fromkeys(in_sentence(held.text) for held in view.held)
        yield _plain(f"Waiting until then: {'; '.join(waiting)}.")
    if view.finish:
        yield _plain(
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


def _text(words: str, style: str = "") -> Text:
    """Words as they stand: no markup, and no character that could drive the terminal."""
    clean = "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in words)
    return Text(clean, style=style, overflow="fold")


def _plain(text: str, indent: int = 0) -> RenderableType:
    return Padding(_text(text), (0, 0, 0, indent))


def _heading(text: str) -> RenderableType:
    return Padding(_text(text, "bold underline"), (1, 0, 0, 0))


def _item(text: str, mark: str = "-") -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=max(2, len(mark)), justify="right")
    grid.add_column(overflow="fold")
    grid.add_row(_text(mark), _text(text))
    return grid


def _step(step: StepView) -> Iterator[RenderableType]:
    side = f" ({step.side})" if step.side else ""
    yield _text(f"{step.title}{side}", "bold")
    if step.figure:
        yield _plain(f"{step.figure} {step.figure_of}".strip(), 2)
    if step.rows:
        yield Padding(_table(("at the", "on each half"), step.rows), (0, 0, 0, 2))
    yield from (_plain(text, 2) for text in (step.at, *step.remarks, step.why) if text)


def _table(heads: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, show_header=any(heads), header_style="")
    for head in heads:
        table.add_column(_text(head), overflow="fold")
    for row in rows:
        table.add_row(*(_text(cell) for cell in row))
    return table


def _gap(view: SheetView) -> Iterator[RenderableType]:
    if view.gap:
        yield _heading("The lacing gap")
        yield from [_plain(view.gap_shape)] if view.gap_shape else []
        rows = tuple((row.station, row.read, row.target, row.change, row.predicted or "-") for row in view.gap)
        yield _table(("at the", "read", "aim", "wants", "then"), rows)
        yield from (_plain(line) for line in view.body)


def _cause(cause: CauseView) -> Iterator[RenderableType]:
    side = f", {cause.side}" if cause.side else ""
    yield _text(f"{cause.title}{side}: {cause.sure} ({cause.percent} in 100)", "bold")
    for mark, weights in (("+", cause.for_), ("-", cause.against)):
        for one in weights:
            bar = mark * max(1, round(BAR * one.share))
            yield _item(f"{one.text}, {one.strength}", f"{bar:>{BAR}}")


def _hand(view: SheetView) -> Iterator[RenderableType]:
    if view.steps:
        yield _heading("With ruler and pencil")
    for number, step in enumerate(view.steps, 1):
        yield _item(step.text, f"{number}.")
        if step.table:
            yield Padding(_table(("", ""), step.table), (0, 0, 0, 4))
    yield from _list("What this does to the paper", view.paper)


def _later(view: SheetView) -> Iterator[RenderableType]:
    for later in view.later:
        yield _heading(f"After that, round {later.number}")
        for step in later.steps:
            yield _item(" ".join(part for part in (step.title, step.side, step.figure, step.figure_of) if part))


def _facts(title: str, facts: tuple[Fact, ...], *, quiet: bool = False) -> Iterator[RenderableType]:
    if facts:
        yield _heading(title)
    for fact in facts:
        more = (f" ({fact.more})" if quiet else f" {fact.more}") if fact.more else ""
        end = "" if quiet or fact.text[-1:] in ".?!" else "."
        yield _item(f"{fact.text}{end}{more}")


def _list(title: str, lines: tuple[str, ...]) -> Iterator[RenderableType]:
    if lines:
        yield _heading(title)
        yield from (_item(line) for line in lines)
