"""Ruler-and-pencil instructions: for each operation, what to measure from where, what to draw, and what to check.

Every length is one she can read off her ruler, from a place she can find on her paper; the same lengths stand beside
the words as data (`diagnose.sheets.hand.figures`). Steps of one kind that follow on one another are one step with a
table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import reduce
from itertools import groupby
from typing import Any

from msgspec.structs import replace

from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import bone_number, bone_numbers, piece_called, piece_title
from diagnose.pattern.measure import channel_length, station_width
from diagnose.pattern.operations import Cuts, Operation, do_part
from diagnose.pattern.operations.channels import Channels
from diagnose.pattern.operations.dart import Dart
from diagnose.pattern.operations.fold import Fold
from diagnose.pattern.operations.length import Length
from diagnose.pattern.operations.move_edge import MoveEdge
from diagnose.pattern.operations.openings.eyelets import Eyelets
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.operations.openings.recut_gore import RecutGore
from diagnose.pattern.operations.openings.tabs import Tabs
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.operations.reshape_edge import ReshapeEdge
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.outline import Pattern, Polyline
from diagnose.sentences import listed, upper_first
from diagnose.sheets.drawn.placing import older_piece
from diagnose.sheets.drawn.work_layers import Lettered
from diagnose.sheets.hand.cuts import dart_steps, fold_steps, length_steps
from diagnose.sheets.hand.edges import changed_edge_steps, move_edge_steps, reshape_steps
from diagnose.sheets.hand.figures import (
    Arcs,
    AtPlace,
    Figure,
    HandStep,
    Inset,
    Kind,
    NewLine,
    OnEdge,
    RubbedOut,
    Square,
    Width,
)
from diagnose.sheets.hand.openings_cut import gore_steps, recut_gore_steps, tab_steps
from diagnose.sheets.hand.paper_marks import (
    bone_slides,
    channel_steps,
    eyelet_steps,
    mark_steps,
    split_steps,
    strap_steps,
)
from diagnose.sheets.hand.paper_places import Desk
from diagnose.sheets.hand.pictures import Picture
from diagnose.units import Unit

__all__ = ["steps_for"]

WIDTH_CHANGED_MM = 0.4
CHAPTERS: Mapping[type, Callable[[Desk, Any, Pattern, Altered], Iterator[HandStep]]] = {
    Fold: fold_steps, Dart: dart_steps, ReshapeEdge: reshape_steps, Length: length_steps,
    InsertGore: gore_steps, SplitSides: split_steps, Channels: channel_steps, Strap: strap_steps, Tabs: tab_steps,
    Marks: mark_steps, RecutGore: recut_gore_steps, Eyelets: eyelet_steps,
}  # fmt: skip
"""How each operation is done by hand, but for edges that are moved: those are drawn together, each once."""

HEADS: Mapping[Kind, str] = {
    "split": (
        "Trace these pieces once more, with all their marks. Write “left” on the one, turn the other over and write "
        "“right” on it: from here on they differ."
    ),
    "mark": "On each of these pieces set both marks, and rule a line from the one to the other:",
    "cut": "On each of these pieces, one after the other; where it is cut apart, stick paper behind:",
    "line": (
        "Redraw these lines. On each measure along the old line from the place named, set the marks square off it, in "
        "or out, and draw one smooth line through them, run on straight where the edge beside it has moved away:"
    ),
    "follow": "Move these channels along with their seam, so that the distance between them stays:",
    "bones": "Rule these channels straight between their ends, as far from the edge as before; cut the bones to suit:",
    "true": (
        "True the lines at the join: on each set both marks, lay the ruler from one to the other, mark off it, and "
        "draw one smooth line:"
    ),
}
BRIEFS: Mapping[Kind, str] = {
    "split": "Trace these pieces once more: one “left”, one turned over “right”.",
    "mark": "Rule the lettered lines.", "cut": "Cut or fold along them, as told with the steps.",
    "line": "Redraw {}.", "follow": "Move the channels beside them too.",
    "bones": "Cut the bones to the new channels.", "true": "True {} at the join.",
}  # fmt: skip
MOST_NAMED = 3
AFTER: Mapping[Kind, int] = {
    "split": 0, "mark": 1, "cut": 2, "true": 3, "line": 4, "follow": 5, "bones": 6, "": 7,
}  # fmt: skip
PIECE_BY_PIECE: tuple[Kind, ...] = ("split", "mark", "cut", "true")
"""What is done alike to many pieces is done to all of them before the next: such work on two pieces never meets."""


def steps_for(
    operations: Sequence[Operation], before: Pattern, after: Pattern, unit: Unit = "in", made: Sequence[Altered] = ()
) -> tuple[HandStep, ...]:
    """How the operations are drawn by hand, in order, and what to check at the end.

    Args:
        operations: what was done.
        before: the pattern it was done to.
        after: what they came to, finished.
        unit: the unit of her ruler.
        made: what each of the operations did; they are done anew where it is not told.

    Raises:
        FitError: when an operation cannot be done to the pattern.
    """
    made = made or do_part(before, operations, Cuts())[0]
    lengths = {(piece.name, c.name): channel_length(c) for piece in before.pieces for c in piece.channels}
    desk, pattern, steps = Desk(unit, bone_numbers(before, after), lengths), before, list[HandStep]()
    drawn = zip(operations, made, strict=True)
    runs = [[*run] for _, run in groupby(drawn, lambda one: isinstance(one[0], MoveEdge) or id(one[0]))]
    for run in runs:
        (first, _), done = run[0], reduce(Altered.then, (did for _, did in run))
        if isinstance(first, MoveEdge):
            moved = [one for one, _ in run if isinstance(one, MoveEdge)]
            done = replace(done, pattern=_edges_of(done.pattern, after)) if run is runs[-1] else done
            steps += move_edge_steps(desk, moved, pattern, made=done)
        else:
            steps += CHAPTERS[type(first)](desk, first, pattern, done)
        steps += _bones(desk, pattern, done.pattern)
        pattern = done.pattern
    steps += _finished(desk, pattern, after)
    told = _rubbed_out_first([*gathered(steps), *_check(desk, before, after)])
    return tuple(_lettered(desk, step) for step in told)


def _edges_of(drawn: Pattern, finished: Pattern) -> Pattern:
    """The pattern with its edges as they are finished: edges that are moved last are drawn there at once."""
    done = {piece.name: piece.edges for piece in finished.pieces}
    return replace(drawn, pieces=tuple(replace(piece, edges=done[piece.name]) for piece in drawn.pieces))


def _lettered(desk: Desk, step: HandStep) -> HandStep:
    """The step with the marks that its figures set."""
    named = {f.mark: f.piece for f in step.figures if isinstance(f, OnEdge | AtPlace | Arcs | Inset | Square)}
    marks = (Lettered(mark, piece, desk.spots[mark]) for mark, piece in named.items() if mark in desk.spots)
    return replace(step, marks=(*step.marks, *marks))


def _rubbed_out_first(steps: Sequence[HandStep]) -> Iterator[HandStep]:
    """The steps, what is only rubbed out told at the head of the step after it: it needs no picture of its own."""
    waiting = list[HandStep]()
    for step in steps:
        if step.figures and all(isinstance(figure, RubbedOut) for figure in step.figures):
            waiting.append(step)
            continue
        if step.kind == "line":  # the wall says its rows alone
            yield from waiting
            waiting = []
        for one in reversed(waiting):
            where, _, _ = one.text.partition(", ")
            then = step.text.removeprefix(f"{where}, ")
            step = replace(
                step, text=f"{one.text} {upper_first(then)}", brief=f"{one.brief} {step.brief}".rstrip(),
                figures=(*one.figures, *step.figures),
            )  # fmt: skip
        waiting = []
        yield step
    yield from waiting


def gathered(steps: Sequence[HandStep]) -> Iterator[HandStep]:
    """The steps in order, those of one kind between two others made one: first lines, then what follows them."""
    waiting = list[HandStep]()
    for step in _piece_by_piece(steps):
        if step.kind == "line" and any(step.rows[0][0] == row[0] for one in waiting for row in one.rows):
            yield from _together(waiting)  # a line that is drawn anew once more is no row of the same table
            waiting = []
        if step.kind and not (step.kind == "true" and any(one.kind != "true" for one in waiting)):
            waiting.append(step)
            continue
        yield from _together(waiting)
        waiting = [step] if step.kind else []
        if not step.kind:
            yield step
    yield from _together(waiting)


def _piece_by_piece(steps: Sequence[HandStep]) -> Sequence[HandStep]:
    """The steps with what is done alike to several pieces side by side, where no piece is cut or folded twice."""
    cut = [step.rows[0][0] for step in steps if step.kind == "cut"]
    if len(cut) < 2 or len(set(cut)) < len(cut) or not all(step.kind for step in steps):
        return [replace(step, kind="") if step.kind in PIECE_BY_PIECE[:3] else step for step in steps]
    ranks = {kind: rank for rank, kind in enumerate(PIECE_BY_PIECE)}
    return sorted(steps, key=lambda step: ranks.get(step.kind, len(ranks)))


def _together(steps: Sequence[HandStep]) -> Iterator[HandStep]:
    for kind in sorted({step.kind for step in steps}, key=lambda kind: AFTER[kind]):
        alike = [step for step in steps if step.kind == kind]
        if len(alike) == 1:
            yield alike[0]
            continue
        rows = dict(row for step in alike for row in step.rows)
        rows = _alike_together(rows) if kind in ("split", "line") else rows
        figures = tuple(figure for step in alike for figure in step.figures)
        pictures = tuple(picture for step in alike for picture in step.pictures if kind != "split")
        named = _named([step.rows[0][0] for step in alike]) if "{" in BRIEFS[kind] else ""
        brief = BRIEFS[kind].format(named)
        yield HandStep(
            HEADS[kind],
            tuple(rows.items()),
            figures,
            pictures=pictures,
            brief=brief,
            kind=kind,
            rows=tuple(rows.items()),
            marks=tuple(mark for step in alike for mark in step.marks),
        )


def _alike_together(rows: Mapping[str, str]) -> dict[str, str]:
    """The rows by label; those that say the same under all their labels."""
    labels: dict[str, list[str]] = {}
    for label, words in rows.items():
        labels.setdefault(words, []).append(label)
    return {"; ".join(named): words for words, named in labels.items()}


def _named(labels: Sequence[str]) -> str:
    """Lines by name where they are few, else how many they are; their piece is left out where they have but one."""
    if len(labels) > MOST_NAMED:
        return f"these {len(labels)} lines"
    pieces, lines = zip(*(label.rsplit(", ", 1) for label in labels), strict=True)
    if len(set(pieces)) == 1:
        return listed([f"the {line}" for line in lines])
    return listed([f"the {line} of the {piece}" for piece, line in zip(pieces, lines, strict=True)])


def _finished(desk: Desk, drawn: Pattern, after: Pattern) -> Iterator[HandStep]:
    """What is trued once at the end, where a line is not as the steps have left it: seams walked, corners squared."""
    for piece in after.pieces:
        left = drawn.piece(piece.name)
        steps = changed_edge_steps(desk, left, piece) if left.edges != piece.edges else ()
        yield from (step for step in steps if any(f.seen for f in step.figures if isinstance(f, NewLine)))


def _bones(desk: Desk, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """The channels whose length the operation changed, and which end of each is moved on or back along its line."""
    rows, figures = list[tuple[str, str]](), list[Figure]()
    shown = dict[str, list[Polyline]]()
    for piece in after.pieces:
        old = older_piece(piece.name, before)
        known = {channel.name: channel for channel in old.channels} if old else {}
        for channel in (c for c in piece.channels if c.name in known):
            now, was = channel_length(channel), channel_length(known[channel.name])
            if abs(now - was) >= desk.step_mm:
                slid = bone_slides(desk, piece, old=known[channel.name], new=channel)
                ends = "".join(f"; its {words}" for words, _ in slid)
                first = desk.lengths.get((old.name if old else piece.name, channel.name), was)
                label = f"{piece_title(piece.name)}, channel {bone_number(desk.bones, piece.name, channel.name)}"
                rows.append((label, f"{desk.say(now)}, was {desk.say(first)}{ends}"))
                figures += [figure for _, figure in slid]
                shown.setdefault(piece.name, []).append(channel.line)
    if rows:
        pictures = tuple(Picture(after.piece(name), lines=lines) for name, lines in shown.items())
        yield HandStep(
            HEADS["bones"], tuple(rows), tuple(figures), pictures=pictures, brief=BRIEFS["bones"], kind="bones",
            rows=tuple(rows),
        )  # fmt: skip


def _check(desk: Desk, before: Pattern, after: Pattern) -> Iterator[HandStep]:
    """The widths that differ now, as she can measure them along the levels, a row for each piece."""
    rows, figures, shown = list[tuple[str, str]](), list[Figure](), list[Picture]()
    for piece in after.pieces:
        old = older_piece(piece.name, before)
        said, levels = list[str](), list[Polyline]()
        for station in (s for s in STATIONS if old and s in piece.levels and s in old.levels):
            width = station_width(piece, station)
            if old is not None and abs(width - station_width(old, station)) > WIDTH_CHANGED_MM:
                figures.append(Width(piece.name, station, desk.read(width)))
                said.append(f"{station} {desk.say(width)}")
                levels.append(piece.levels[station])
        if said:
            rows.append((piece_called(piece.name), " · ".join(said)))
            shown.append(Picture(piece, lines=levels))
    if rows:
        text = "Check the new widths along the levels, and walk every seam you changed against its partner:"
        brief = "Check the widths along the levels; walk every changed seam against its partner."
        yield HandStep(text, tuple(rows), tuple(figures), pictures=tuple(shown), brief=brief)
