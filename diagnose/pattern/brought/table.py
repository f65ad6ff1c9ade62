"""The point table: a pattern measured off paper with a ruler, as CSV.

The heading is ``piece,edge,role,point,out,up,kind`` in any order, or other usual words (see `table_heading`):
`out` from the centre front, `up` from the waist (a
``down`` column may stand instead). The rows go round each piece: along the bottom from front to back, up the back,
along the top to the front, and down; a piece written the other way round is turned. An edge begins where the edge
before it ended; that corner is written at the end of the edge before, and may be written again at the start of the
next; written at the start of the next alone, throughout, it is understood too (`table_rows`). `kind` is ``corner``
or ``curve``: a smooth curve is laid through curve points from corner to corner. `point` is a label; numbers must rise
along an edge. `role`, `point` and `kind` may be left out: roles are then presumed, and every point is a corner. Cells
may be parted by semicolons or tabs, with decimal commas; a piece or edge left blank is that of the row above.

Lines that begin with # say the rest (see `table_notes`); all of them may be missing. What they do not say is
proposed as for a drawing: seams between edges of one length, levels, the edges that open and are laced.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import cast

from msgspec import Struct, structs

from diagnose.errors import FitError, Mistake, quoted
from diagnose.pattern.brought.believing import APART
from diagnose.pattern.brought.drawings.halves import TWINS, Halved, halved
from diagnose.pattern.brought.drawings.joining import Ring
from diagnose.pattern.brought.drawings.outlines import Outline
from diagnose.pattern.brought.table_heading import heading_of
from diagnose.pattern.brought.table_notes import Notes, read_notes
from diagnose.pattern.brought.table_rows import TableRow, edges_in, rows_of
from diagnose.pattern.brought.understanding import USUAL, Terms, Understood, understood_of
from diagnose.pattern.brought.understood.applying import apply_labels
from diagnose.pattern.brought.understood.edges_presumed import named_edges, plain_role, sides_of
from diagnose.pattern.brought.understood.labels import NO_LABELS, Labels
from diagnose.pattern.brought.understood.levels import drawn_level, side_range
from diagnose.pattern.brought.understood.proposal import Proposal, Proposed, chained, with_ends
from diagnose.pattern.form.strict import Reading
from diagnose.pattern.geometry.bezier import area
from diagnose.pattern.geometry.plane import sub
from diagnose.pattern.geometry.runs import smooth_through
from diagnose.pattern.in_words import piece_quoted
from diagnose.pattern.measure import edge_length
from diagnose.pattern.outline import (
    CUTS,
    ROLES,
    Channel,
    Cut,
    Edge,
    EdgeRef,
    Line,
    Notch,
    Piece,
    Point,
    Role,
    Segment,
    Slit,
    run_of,
)  # fmt: skip
from diagnose.units import UNIT_MM, Unit

__all__ = ["bring_table"]

WAIST_OFF_MM = 12.0
"""A waist lies at least so far from the hem and the top edge, unless a # level line says otherwise."""

AT_WAIST_MM = 8.0
NO_ROW_MM = 25.0
"""An edge without a row so near to the waist, where the others have one at it, may have lost it."""


class _Read(Struct, frozen=True):
    """One piece of the table: its rows, the piece, and whether it was turned round."""

    rows: tuple[TableRow, ...]
    piece: Piece
    is_turned: bool


def bring_table(text: str, where: str = "table", terms: Terms = USUAL, labels: Labels = NO_LABELS) -> Understood:
    """What a point table is understood to be.

    Args:
        text: the CSV.
        where: what the places of its mistakes begin with.
        terms: what is told beside it.
        labels: what is said of its pieces, edges, levels and seams.

    Raises:
        FitError: with every mistake of writing.
    """
    reading = Reading(terms.unit)
    lines = [(f"{where}, line {n}", line) for n, line in enumerate(text.splitlines(), 1) if line.strip(" \t,;")]
    told = [(at, line.strip(' \t"')) for at, line in lines if line.lstrip(' \t"').startswith("#")]
    lines = [(at, line) for at, line in lines if not line.lstrip(' \t"').startswith("#")]
    heading = heading_of(lines, where, reading)
    by_heading = heading.unit if heading else None
    reading.unit = by_heading or reading.unit
    notes = read_notes(told, reading)
    notes.closure = notes.closure or terms.closure
    _check_unit(notes, by_heading, terms, reading=reading)
    rows, how = rows_of(lines, heading, reading) if heading else ([], ())
    for at, name in notes.named:
        if name not in {row.piece for row in rows}:
            what = f"The table has no piece {quoted(name)}."
            reading.note(at, what, "Name a piece of the piece column.", code="no-such-piece")
    if heading and not rows and not reading.mistakes:
        what = "No row of the table holds a point."
        reading.note(where, what, "Write each point on a row: piece, edge, out and up.", code="no-points")
    read = [_piece(name, list(group), notes, reading=reading) for name, group in groupby(rows, lambda row: row.piece)]
    reading.finish(where)
    said = structs.replace(labels, sure=(*labels.sure, *notes.sure))
    proposal = _proposal(read, notes, where, is_apart=APART in (*said.sure, *terms.sure))
    proposal = apply_labels(structs.replace(proposal, said=(*how, *proposal.said)), said, terms.unit)
    told_mm = None if notes.has_unit else UNIT_MM[terms.unit]
    made = understood_of(proposal, where, terms, labels=said, told_mm=told_mm)
    return structs.replace(made, unit=notes.unit if notes.has_unit else None)


def _check_unit(notes: Notes, by_heading: Unit | None, terms: Terms, reading: Reading) -> None:
    """Note units that contradict one another, and keep the one of the heading as the table's own."""
    if by_heading and notes.has_unit and notes.unit != by_heading:
        what = f"The heading says that it is in {by_heading}, and the # unit line {notes.unit}."
        reading.note("# unit", what, "Put one of them right.", code="contradiction")
    notes.has_unit = notes.has_unit or by_heading is not None
    if notes.has_unit and terms.is_told and notes.unit != terms.unit:
        what = f"The table says that it is in {notes.unit}, and --unit says {terms.unit}."
        typed = "Leave --unit out, or put the unit in the table right."
        reading.note("--unit", what, typed=typed, code="contradiction")


def _proposal(read: Sequence[_Read], notes: Notes, where: str, *, is_apart: bool) -> Proposal:
    """The pieces with what the notes tell and what must be presumed, from the centre front on."""
    refs = {ref for seam in notes.seams for ref in seam.refs}
    pieces = [_proposed(n, one, refs, cut=notes.cuts.get(one.piece.name, "")) for n, one in enumerate(read, 1)]
    lefts = [min(edge.start.x for edge in one.piece.edges) for one in read]
    # Pieces that were each measured from their own front edge stand as written.
    if len(set(lefts)) == len(lefts) and not notes.seams:
        pieces = [one for _, one in sorted(zip(lefts, pieces, strict=True), key=lambda row: row[0])]
    rings = [one.outline.ring for one in pieces]
    half = Halved(tuple(rings)) if is_apart else halved(rings, names=[one.piece.name for one in pieces])
    if len(half.rings) < len(pieces) and not half.folded and not (half.paired and notes.seams):
        kept = {id(ring) for ring in half.rings}
        pieces = [one for one in pieces if id(one.outline.ring) in kept]
    ended, ends = with_ends(pieces, notes.closure)
    turned = ", ".join(piece_quoted(one.piece.name) for one in read if one.is_turned)
    clockwise = (f"The rows of {turned} go round clockwise: they were turned.",) if turned else ()
    halves = half.said if len(pieces) < len(read) else ()
    name = notes.name or re.sub(r"\.(csv|tsv|txt)$", "", where, flags=re.IGNORECASE)
    levelled = tuple(_with_levels(ended, notes))
    asks = (*_lost_rows(read), *((TWINS,) if half.is_twin_presumed and not notes.seams else ()))
    said, seams = (*clockwise, *halves, *ends), tuple(notes.seams) or None
    return Proposal(name, notes.closure, levelled, said=said, seams=seams, is_table=True, asks=asks)


def _proposed(number: int, one: _Read, sewn: set[EdgeRef], cut: str) -> Proposed:
    piece = one.piece
    sides = sides_of(piece.edges)
    given = tuple(
        bool(edge.role) and (edge.role != "seam" or EdgeRef(piece.name, edge.name) in sewn) for edge in piece.edges
    )
    edges = [
        structs.replace(edge, role=edge.role or plain_role(side)) for edge, side in zip(piece.edges, sides, strict=True)
    ]
    outline = Outline(number, piece.name, Ring(run_of(edges), ()), cut=cut)
    return Proposed(outline, structs.replace(piece, edges=named_edges(edges, sides)), sides, given=given)


def _lost_rows(read: Sequence[_Read]) -> Iterator[Mistake]:
    """Edges without a row at the waist, where the others have one."""
    rows = [
        (edge, [row for row in one.rows if row.edge == edge.name])
        for one in read for edge in one.piece.edges if edge.role in ("", "seam")
    ]  # fmt: skip
    over = [(edge, own) for edge, own in rows if len(own) > 2 and min(edge.start.y, edge.end.y) < -NO_ROW_MM
            and max(edge.start.y, edge.end.y) > NO_ROW_MM]  # fmt: skip
    at = [own for _, own in over if any(abs(row.at.y) <= AT_WAIST_MM for row in own)]
    if len(at) < 3 or len(over) - len(at) > len(at) / 3:
        return
    for _, own in over:
        if all(abs(row.at.y) > NO_ROW_MM for row in own):
            one = own[0]
            what = f"Edge {one.edge} of {piece_quoted(one.piece)} has no point at the waist, and the others have one:"
            what += " is a row missing?"
            line = f"{one.piece},{one.edge},{one.role or 'seam'},,OUT,0,curve"
            typed = f"Measure it and write: {line}; or, if it is so, say --sure rows."
            yield Mistake(one.where, what, "", typed=typed, code="sure-rows")


def _piece(name: str, rows: Sequence[TableRow], notes: Notes, reading: Reading) -> _Read:
    """The piece without its levels; a piece with a mistake is noted, and is not sound."""
    edges = edges_in(rows)
    for edge in edges:
        _check_edge(edge, name, reading)
    nodes = _ring(edges)
    is_apart = _all_apart([row for _, row in nodes], reading)
    is_turned = _area([row.at for _, row in nodes]) < 0.0
    if is_turned:
        nodes = [(n, nodes[k - 1][1]) for k, (n, _) in reversed(list(enumerate(nodes)))]
    steps = _steps([row for _, row in nodes]) if is_apart else []
    made: dict[int, list[Segment]] = {}
    for (n, _), step in zip(nodes, steps, strict=False):
        made.setdefault(n, []).append(step)
    run = tuple(Edge(edges[n][0].edge, cast(Role, edges[n][0].role), tuple(own)) for n, own in made.items())
    cut = cast(Cut, notes.cuts.get(name, "fold" if any(edge.role == "fold" for edge in run) else "pair"))
    if cut not in CUTS:
        reading.word(cut, CUTS, f"piece {name}", key="cut")
    doubled = [edge.name for n, edge in enumerate(run) if edge.name in {one.name for one in run[:n]}]
    for edge_name in doubled[:1]:
        reading.note(f"{rows[0].where.partition(',')[0]}, piece {name}", f"2 edges are named {quoted(edge_name)}.",
                     "Give each edge its own name, and write its points one after the other.",
                     code="name-doubled")  # fmt: skip
    piece = Piece(name, cut, "both", edges=run)
    return _Read(tuple(rows), _with_marks(piece, notes, is_turned=is_turned), is_turned)


def _area(points: Sequence[Point]) -> float:
    return area(tuple(Line(points[n - 1], point) for n, point in enumerate(points)))


def _with_marks(piece: Piece, notes: Notes, *, is_turned: bool) -> Piece:
    """The piece with the marks that the notes tell; a notch counts from where she began the edge."""
    lengths, marks = {edge.name: edge_length(edge) for edge in piece.edges}, notes.marks.get(piece.name, ())
    notches = (one for one in marks if isinstance(one, Notch))
    return structs.replace(
        piece, channels=tuple(one for one in marks if isinstance(one, Channel)),
        slits=tuple(one for one in marks if isinstance(one, Slit)),
        notches=tuple(Notch(n.edge, lengths.get(n.edge, 0.0) - n.at) if is_turned else n for n in notches),
        landmarks=notes.landmarks.get(piece.name, {}), grain=notes.grain.get(piece.name),
    )  # fmt: skip


def _check_edge(rows: Sequence[TableRow], piece: str, reading: Reading) -> None:
    if rows[0].role and rows[0].role not in ROLES:
        at = f"{rows[0].where.partition(',')[0]}, piece {piece}, edge {rows[0].edge}"
        reading.word(rows[0].role, ROLES, at, key="role")
    for row, after in pairwise(rows):
        if after.role != row.role:
            what = f"Edge {quoted(row.edge)} has two roles, {quoted(row.role)} and {quoted(after.role)}."
            reading.note(after.where, what, "Give it one.", code="missing")
        if row.label.isdecimal() and after.label.isdecimal() and int(after.label) <= int(row.label):
            what = f"Point {quoted(after.label)} comes after point {quoted(row.label)}."
            do = "Write the points in the order in which the edge runs."
            reading.note(after.where, what, do, code="edges-out-of-order")


def _ring(edges: Sequence[Sequence[TableRow]]) -> list[tuple[int, TableRow]]:
    """The points round the piece, each once, with the number of the edge that ends or goes on there."""
    nodes: list[tuple[int, TableRow]] = []
    for n, edge in enumerate(edges):
        rows = edge[1:] if len(edge) > 1 and edges[n - 1][-1].lies_on(edge[0]) else edge
        following = edges[(n + 1) % len(edges)][0]
        # A corner written twice is a corner as soon as one of its two lines says so.
        curve = rows[-1].curve and (following.curve or not rows[-1].lies_on(following))
        nodes += [(n, row) for row in (*rows[:-1], structs.replace(rows[-1], curve=curve))]
    return nodes


def _all_apart(rows: Sequence[TableRow], reading: Reading) -> bool:
    close = [row for n, row in enumerate(rows) if rows[n - 1].lies_on(row)]
    for row in close:
        what = "The point lies on the one before it."
        reading.note(row.where, what, "Leave one of the two lines out.", code="one-point")
    return not close


def _steps(rows: Sequence[TableRow]) -> list[Segment]:
    """The step that leads to each point: straight between two corners, else part of a smooth curve."""
    points = [row.at for row in rows]
    corners = [n for n, row in enumerate(rows) if not row.curve]
    if not corners:
        tangent = sub(points[0], points[-2])
        return list(smooth_through([points[-1], *points], tangent, tangent))
    steps: dict[int, Segment] = {}
    for begin, end in zip([corners[-1] - len(points), *corners], corners, strict=False):
        run = range(begin + 1, end + 1)
        if len(run) == 1:
            steps[end] = Line(points[begin], points[end])
        else:
            cubics = smooth_through([points[begin], *(points[n] for n in run)])
            steps |= {n % len(points): cubic for n, cubic in zip(run, cubics, strict=True)}
    return [steps[n] for n in range(len(points))]


def _with_levels(pieces: Sequence[Proposed], notes: Notes) -> list[Proposed]:
    """The pieces with the levels that the notes tell, and the waist at 0 where that lies between hem and top.

    Raises:
        FitError: when a level that the notes tell misses the paper.
    """
    told = {note.station: note.up_mm for note in notes.levels if not note.piece}
    own = {(note.piece, note.station): note.up_mm for note in notes.levels if note.piece}
    everywhere = {**({"waist": 0.0} if _is_waist([one.piece for one in pieces]) else {}), **told}
    made, half = [], set(chained(pieces)) if pieces else set()
    for n, one in enumerate(pieces):
        # What is made apart was measured from a nought of its own: no level that is meant for all lies across it.
        heights = {
            **(everywhere if n in half else {}),
            **{station: up for (name, station), up in own.items() if name == one.piece.name},
        }
        drawn = {s: line for s, up in heights.items() if (line := drawn_level(one.piece, up))}
        made.append(structs.replace(one, piece=structs.replace(one.piece, levels=drawn)))
    has = {(name, station) for one in made for station in one.piece.levels for name in (None, one.piece.name)}
    missed = [note for note in notes.levels if (note.piece, note.station) not in has]
    if missed:
        do = "Give its height."
        raise FitError(
            Mistake(n.where, f"The level {n.station} misses the paper.", do, code="level-misses") for n in missed
        )
    return made


def _is_waist(pieces: Sequence[Piece]) -> bool:
    """Whether 0 lies plainly between the hem and the top of most pieces."""
    ranges = [found for piece in pieces if (found := side_range(piece))]
    across = [low + WAIST_OFF_MM <= 0.0 <= high - WAIST_OFF_MM for low, high in ranges]
    return 2 * sum(across) > len(across)
