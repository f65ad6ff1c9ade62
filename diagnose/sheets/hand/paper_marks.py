"""What is drawn anew by hand on paper that stays: marks, bones, eyelets, straps, and the two sides of a pair."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import cross, distance, dot, sub, unit
from diagnose.pattern.in_words import channels_words, edge_words, piece_title, piece_words
from diagnose.pattern.moved.bones import exit_of
from diagnose.pattern.operations.channels import Channels
from diagnose.pattern.operations.openings.eyelets import Eyelets
from diagnose.pattern.operations.redrawn_marks import Marks
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.outline import Channel, Edge, Pattern, Piece, Point
from diagnose.sentences import listed
from diagnose.sheets.hand.edges import changed_edge_steps
from diagnose.sheets.hand.figures import Figure, HandStep, RubbedOut, Ruled, Slide, Tab
from diagnose.sheets.hand.paper_places import Desk, Found, on_edge, within
from diagnose.sheets.hand.pictures import Picture

__all__ = ["bone_slides", "channel_steps", "eyelet_steps", "mark_steps", "split_steps", "strap_steps"]

MOVED_ASIDE_MM = 0.4


def mark_steps(desk: Desk, do: Marks, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """Each line from its one end to its other, each point where it has come to lie."""
    piece = made.pattern.piece(do.piece)
    for shift in do.levels:
        line = piece.levels[shift.station]
        ends = on_edge(desk, piece, line[0]), on_edge(desk, piece, line[-1])
        over = [within(desk, piece, point) for point in line[2:-2:2]] if shift.middle is not None else []
        yield _line(piece, f"the {shift.station} line", f"level:{shift.station}", ends=ends, over=over)
    if do.grain_deg and piece.grain:
        yield _line(
            piece,
            "the grain line",
            "grain",
            ends=(within(desk, piece, piece.grain[0]), within(desk, piece, piece.grain[1])),
        )
    for moved in do.landmarks:
        found = within(desk, piece, piece.landmarks[moved.name])
        text = f"On {piece_words(piece.name)}, mark {moved.name.replace('-', ' ')} anew: {found.words}."
        yield HandStep(text, (), found.figures, pictures=(Picture(piece, {found.mark: found.spot}),), brief=text)


def _line(
    piece: Piece, name: str, what: str, ends: tuple[Found, Found], over: Sequence[Found] = ()
) -> HandStep:  # fmt: skip
    low, high = ends
    places = [low, *over, high]
    along = "–".join(found.mark for found in places)
    how = f"Draw one smooth line {along}" if over else f"Rule {along}"
    measured = "; ".join(found.words for found in (low, high, *over))
    text = f"On {piece_words(piece.name)}, draw {name} anew: {measured}. {how} and rub out the old line."
    spots = {found.mark: found.spot for found in places}
    figures = [figure for found in (low, high, *over) for figure in found.figures]
    ruled = Ruled(piece.name, what, (low.mark, high.mark), over=tuple(found.mark for found in over))
    picture = Picture(piece, spots, lines=(tuple(found.spot for found in places),))
    return HandStep(text, (), (*figures, ruled), pictures=(picture,), brief=f"Draw {name} anew, {along}.")


def split_steps(desk: Desk, do: SplitSides, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The piece traced once for each side."""
    piece = before.piece(do.piece)
    text = (
        f"Trace {piece_words(piece.name)} once more, with all its marks. Write “left” on the one, turn the other over "
        "and write “right” on it: from here on they differ."
    )
    if piece.cut == "fold":
        text += " Neither is cut on the fold any more; give both a seam at the fold line, or tape them together there."
    brief = f"Trace {piece_words(piece.name)} once more: one “left”, one turned over “right”."
    said = "one “left”, one turned over “right”" + ("; neither is cut on the fold" if piece.cut == "fold" else "")
    yield HandStep(text, (), (), pictures=(Picture(piece),), brief=brief, kind="split",
                   rows=((piece_title(piece.name), said),))  # fmt: skip


def channel_steps(desk: Desk, do: Channels, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """Channels rubbed out, and the new lines of those added, moved and lengthened."""
    piece, new = before.piece(do.piece), made.pattern.piece(do.piece)
    old = {channel.name: channel for channel in piece.channels}
    if do.remove:
        said = channels_words(desk.bones, piece.name, do.remove)
        text = f"On {piece_words(piece.name)}, rub out {said}."
        gone = tuple(RubbedOut(piece.name, f"channel:{name}") for name in do.remove)
        picture = Picture(piece, lines=[old[name].line for name in do.remove])
        yield HandStep(text, (), gone, pictures=(picture,), brief=f"Rub out {said}.")
    for channel in new.channels:
        if channel != old.get(channel.name):
            yield _channel_step(desk, new, channel, fresh=channel.name not in old)


def _channel_step(desk: Desk, piece: Piece, channel: Channel, *, fresh: bool) -> HandStep:
    """The middle line of one channel: from edge to edge, stopping short of both."""
    low, high = _end_place(desk, piece, tuple(reversed(channel.line))), _end_place(desk, piece, channel.line)
    verb = "draw" if fresh else "draw anew"
    said = channels_words(desk.bones, piece.name, [channel.name])
    line = f"{low[0].mark}–{high[0].mark}{_stops(desk, low, high)}"
    text = (
        f"On {piece_words(piece.name)}, {verb} the middle line of {said}: {low[0].words}; {high[0].words}. "
        f"Rule {line}. "
        f"The channel is {desk.say(channel.width)} wide."
    )
    spots = {found.mark: found.spot for found, _ in (low, high)}
    ruled = Ruled(piece.name, f"channel:{channel.name}", (low[0].mark, high[0].mark), short_mm=(low[1], high[1]))
    figures = (*low[0].figures, *high[0].figures, ruled)
    picture = Picture(piece, spots, lines=(channel.line,))
    return HandStep(text, (), figures, pictures=(picture,), brief=f"{verb.capitalize()} {said} {line}.")


def bone_slides(desk: Desk, piece: Piece, old: Channel, new: Channel) -> list[tuple[str, Slide]]:
    """The ends of a channel that are moved on or back along its own line, in words; none where it lies on another."""
    found = []
    for end, at, inner in (("start", 0, 1), ("end", -1, -2)):
        ahead = unit(sub(old.line[at], old.line[inner]))
        by = sub(new.line[at], old.line[at])
        if abs(cross(ahead, by)) > MOVED_ASIDE_MM:
            return []
        along = desk.read(dot(ahead, by))
        if along:
            other = old.line[-1 if end == "start" else 0]
            up = old.line[at].y >= other.y
            word = f"{'top' if up else 'bottom'} end {desk.say(along)} {'higher' if (along > 0.0) == up else 'lower'}"
            found.append((word, Slide(piece.name, f"channel:{old.name}:{end}", along)))
    return found


def _end_place(desk: Desk, piece: Piece, line: tuple[Point, ...]) -> tuple[Found, float]:
    """Where the channel, run on, meets the edge, and how far short of it it ends; or the end itself, inside."""
    leave = exit_of(piece, line)
    if leave is None or leave.gap_mm > 40.0:
        return within(desk, piece, line[-1]), 0.0
    return on_edge(desk, piece, leave.point), desk.read(max(0.0, leave.gap_mm))


def _stops(desk: Desk, low: tuple[Found, float], high: tuple[Found, float]) -> str:
    if not (low[1] or high[1]):
        return ""
    if low[1] == high[1]:
        return f", and stop {desk.say(low[1])} short of either end"
    short = [f"{desk.say(by)} short of {found.mark}" for found, by in (low, high) if by]
    return f", and stop {listed(short)}"


def eyelet_steps(desk: Desk, do: Eyelets, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """One more hole between each two for a span about the waist."""
    del made
    piece = before.piece(do.piece)
    text = (
        f"On the lacing edge of {piece_words(piece.name)}, mark one more eyelet half-way between each two, for "
        f"{desk.say(do.span)} above and below the waist; the others stay."
    )
    yield HandStep(text, (), (), pictures=(Picture(piece),), brief=text)


def strap_steps(desk: Desk, do: Strap, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The fixing slid along the top edge; the strap cut longer or wider."""
    piece, new = before.piece(do.piece), made.pattern.piece(do.piece)
    for name, spot in piece.landmarks.items():
        now = new.landmarks.get(name, spot)
        if name.startswith("strap") and distance(now, spot) > MOVED_ASIDE_MM:
            yield _slide_step(desk, piece, new, name=name, by=do.move)
    slid = _slid(piece, new)
    yield from changed_edge_steps(desk, piece, new, names=[e.name for e in piece.edges if e.name not in slid])
    for by, more, less in ((do.lengthen, "longer", "shorter"), (do.widen, "wider", "narrower")):
        if by:
            which = f"the {do.end} of the strap" if do.end else "the strap"
            text = f"Cut {which} {desk.say(by)} {more if by > 0 else less}."
            figure = Slide(piece.name, f"strap {more}", desk.read(by))
            ends = [
                spot for name, spot in piece.landmarks.items() if name.startswith("strap") and (do.end or "") in name
            ]
            picture = Picture(piece, {"strap": ends[0]} if ends else {}, look_at=ends)
            yield HandStep(text, (), (figure,), pictures=(picture,), brief=text)


def _slid(piece: Piece, new: Piece) -> tuple[str, ...]:
    return tuple(edge.name for edge in piece.edges if _carried(edge, new.edge(edge.name)))


def _carried(old: Edge, new: Edge) -> bool:
    """Whether the edge only slid: with the tab that is traced, both its ends moved alike."""
    return distance(sub(new.start, old.start), sub(new.end, old.end)) < MOVED_ASIDE_MM and old != new


def _slide_step(desk: Desk, piece: Piece, new: Piece, name: str, by: float) -> HandStep:
    """The strap's mark moved along a smooth edge, or straight across with the tab that bears it."""
    words, old, now, read = name.replace("-", " "), piece.landmarks[name], new.landmarks[name], desk.read(by)
    towards = "centre back" if by > 0 else "centre front"
    tab = _slid(piece, new)
    figure: Figure
    if tab:
        ends = listed([edge_words(piece.edge(edge)) for edge in tab])
        text = (
            f"On {piece_words(piece.name)}, trace {ends} with the {words} mark, and slide the tracing {desk.say(by)}"
            f" straight across towards {towards}: draw it there."
        )
        figure = Tab(piece.name, tab, name, by_mm=read)
    else:
        text = (
            f"On {piece_words(piece.name)}, move the {words} mark {desk.say(by)} along the top edge towards {towards}."
        )
        figure = Slide(piece.name, name, read)
    curves = [new.edge(edge).segments for edge in tab]
    brief = f"Move the {words} mark {desk.say(by)} towards {towards}."
    picture = Picture(piece, {"old": old, "new": now}, curves=curves)
    return HandStep(text, (), (figure,), pictures=(picture,), brief=brief)
