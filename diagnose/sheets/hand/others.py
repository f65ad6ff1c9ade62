"""Splitting, bones, gores, straps and tabs by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import add, cross, distance, dot, sub, turn, unit
from diagnose.pattern.in_words import channels_words, edge_words, piece_title, piece_words, slit_title
from diagnose.pattern.measure import SLIT_PREFIX, slit_length
from diagnose.pattern.moved.bones import exit_of
from diagnose.pattern.operations.channels import Channels
from diagnose.pattern.operations.openings.eyelets import Eyelets
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.operations.openings.recut_gore import RecutGore
from diagnose.pattern.operations.openings.tabs import Tabs
from diagnose.pattern.operations.split_sides import SplitSides
from diagnose.pattern.operations.strap import Strap
from diagnose.pattern.outline import Channel, Edge, Pattern, Piece, Point, Slit
from diagnose.sentences import listed
from diagnose.sheets.hand.edges import changed_edge_steps
from diagnose.sheets.hand.figures import Figure, GoreFigure, HandStep, RubbedOut, Ruled, Slide, Tab
from diagnose.sheets.hand.paper_places import Desk, Found, on_edge, within
from diagnose.sheets.hand.pictures import Picture

__all__ = ["bone_slides", "channel_steps", "gore_steps", "split_steps", "strap_steps", "tab_steps"]

MOVED_ASIDE_MM = 0.4


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


def recut_gore_steps(desk: Desk, do: RecutGore, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """A slit and its gore swung, made longer or shorter: its line drawn anew, and the gore for it."""
    new = made.pattern.piece(do.piece)
    lip = next(
        ref for seam in made.pattern.seams for ref in (seam.a, seam.b)
        if ref.edge.startswith(SLIT_PREFIX) and do.piece in (seam.a.piece, seam.b.piece)
    )  # fmt: skip
    piece = made.pattern.piece(lip.piece)
    slit = next(one for one in piece.slits if SLIT_PREFIX + one.name == lip.edge)
    texts = []
    if do.swing:
        toward = "back" if do.swing > 0.0 else "front"
        texts.append(
            f"On {piece_words(piece.name)}, mark the foot of {slit_title(slit.name)} {desk.say(abs(do.swing))} along "
            f"the edge toward the centre {toward}, and rule the slit from there to its old tip."
        )
    if do.lengthen:
        way = "on beyond its tip" if do.lengthen > 0.0 else "back from its tip"
        drawn = f"draw {slit_title(slit.name)} {desk.say(abs(do.lengthen))} {way}, in its own line."
        texts.append(f"On {piece_words(piece.name)}, {drawn}")
    for text in texts:
        picture = Picture(before.piece(piece.name), lines=[slit.line])
        yield HandStep(text, (), (), pictures=(picture,), brief=text)
    hem = next(edge for edge in new.edges if edge.role != "seam")
    yield from _gore_for(desk, piece, slit, width=distance(hem.start, hem.end), known=True)


def eyelet_steps(desk: Desk, do: Eyelets, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """One more hole between each two for a span about the waist."""
    del made
    piece = before.piece(do.piece)
    text = (
        f"On the lacing edge of {piece_words(piece.name)}, mark one more eyelet half-way between each two, for "
        f"{desk.say(do.span)} above and below the waist; the others stay."
    )
    yield HandStep(text, (), (), pictures=(Picture(piece),), brief=text)


def gore_steps(desk: Desk, do: InsertGore, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The slit and the gore for it."""
    piece, new = before.piece(do.piece), made.pattern.piece(do.piece)
    slit = min(new.slits, key=lambda s: distance(s.line[0], do.slit_foot))
    known = any(s == slit for s in piece.slits)
    yield from _gore_for(desk, new, slit, width=do.width, known=known)


def _gore_for(desk: Desk, piece: Piece, slit: Slit, width: float, *, known: bool) -> Iterator[HandStep]:
    foot, tip = on_edge(desk, piece, slit.line[0]), within(desk, piece, slit.line[-1])
    spots = {foot.mark: foot.spot, tip.mark: tip.spot}
    leg, wide = desk.read(slit_length(slit)), desk.read(width)
    name = slit_title(slit.name)
    if known:
        text = f"On {piece_words(piece.name)}, {name} ({foot.words}; {tip.words}) takes a gore. "
    else:
        text = f"On {piece_words(piece.name)}, {foot.words}; {tip.words}. "
        text += f"Rule {foot.mark}–{tip.mark} and cut it as {name}. "
    text += (
        f"On fresh paper draw the gore: a line {desk.say(leg)} long; with its top as centre swing an arc through its "
        f"foot; on the arc mark half of {desk.say(wide)} to each side of the foot, and rule both marks to the top. "
        "The arc is its hem. Bar the tip when it is sewn."
    )
    ruled = Ruled(piece.name, f"slit:{slit.name}", (foot.mark, tip.mark))
    figures = (
        *foot.figures,
        *tip.figures,
        ruled,
        GoreFigure(piece.name, foot.mark, tip.mark, leg_mm=leg, width_mm=wide),
    )
    picture = Picture(piece, spots, lines=(slit.line,), patches=(_wedge(slit, width),))
    brief = f"A gore for {name}, {foot.mark}–{tip.mark}: legs {desk.say(leg)}, {desk.say(wide)} wide at the foot."
    yield HandStep(text, (), figures, pictures=(picture,), brief=brief)


def _wedge(slit: Slit, width: float) -> tuple[Point, ...]:
    """The gore laid over its slit."""
    foot, tip = slit.line[0], slit.line[-1]
    angle = width / max(1.0, distance(foot, tip)) / 2.0
    axis = sub(foot, tip)
    return tip, add(tip, turn(Point(0.0, 0.0), angle)(axis)), add(tip, turn(Point(0.0, 0.0), -angle)(axis))


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


def tab_steps(desk: Desk, do: Tabs, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """The slits drawn anew, the hem moved, the gores."""
    piece, new = before.piece(do.piece), made.pattern.piece(do.piece)
    old = {slit.name: slit for slit in piece.slits}
    if do.lengthen:
        yield _longer_step(desk, piece, new, by=do.lengthen)
    for slit in new.slits:
        if slit.name not in old:
            yield _slit_step(desk, new, slit, verb="draw")
        elif do.redivide and _moved(slit, old[slit.name]):
            yield _slit_step(desk, new, slit, verb="draw anew")
    deeper = [s for s in new.slits if s.name in old and _moved(s, old[s.name])] if do.deepen and not do.redivide else []
    if deeper:
        yield _deeper_step(desk, new, deeper, by=do.deepen)
    if do.flare:
        names = {seam.b.edge.removeprefix("slit:") for seam in made.pattern.seams if seam.b.edge.startswith("slit:")}
        known = {seam.b.edge.removeprefix("slit:") for seam in before.seams if seam.b.edge.startswith("slit:")}
        for slit in (s for s in new.slits if s.name in names - known):
            yield from _gore_for(desk, new, slit, width=do.flare, known=slit.name in old)


def _longer_step(desk: Desk, piece: Piece, new: Piece, by: float) -> HandStep:
    """The hem carried on along the side edges and the slits."""
    bottoms = [edge for edge in piece.edges if edge.role == "bottom"]
    hem = listed([edge_words(edge) for edge in bottoms])
    onward = "on beyond" if by > 0 else "back from"
    lines = "both side edges and every slit" if piece.slits else "both side edges"
    each = "each tab's foot" if piece.slits else hem
    text = (
        f"On {piece_words(piece.name)}, carry {lines} {desk.say(by)} {onward} {hem}, and trace {each} between the new "
        "ends, parallel to the old line."
    )
    figures = tuple(Slide(piece.name, f"edge:{edge.name}", desk.read(by)) for edge in bottoms)
    curves = [new.edge(edge.name).segments for edge in bottoms]
    brief = f"Carry {hem} {desk.say(by)} {'down' if by > 0 else 'up'}, parallel to the old line."
    return HandStep(text, (), figures, pictures=(Picture(piece, curves=curves),), brief=brief)


def _moved(slit: Slit, old: Slit) -> bool:
    return (
        distance(slit.line[0], old.line[0]) > MOVED_ASIDE_MM or distance(slit.line[-1], old.line[-1]) > MOVED_ASIDE_MM
    )


def _slit_step(desk: Desk, piece: Piece, slit: Slit, verb: str) -> HandStep:
    foot, tip = on_edge(desk, piece, slit.line[0]), within(desk, piece, slit.line[-1])
    text = f"On {piece_words(piece.name)}, {verb} {slit_title(slit.name)}: {foot.words}; {tip.words}. "
    text += f"Rule {foot.mark}–{tip.mark}."
    spots = {foot.mark: foot.spot, tip.mark: tip.spot}
    ruled = Ruled(piece.name, f"slit:{slit.name}", (foot.mark, tip.mark))
    figures = (*foot.figures, *tip.figures, ruled)
    brief = f"{verb.capitalize()} {slit_title(slit.name)}, {foot.mark}–{tip.mark}."
    return HandStep(text, (), figures, pictures=(Picture(piece, spots, lines=(slit.line,)),), brief=brief)


def _deeper_step(desk: Desk, piece: Piece, slits: Sequence[Slit], by: float) -> HandStep:
    by = desk.read(by)
    word = "longer" if by > 0 else "shorter"
    names = listed([slit_title(slit.name) for slit in slits])
    text = f"On {piece_words(piece.name)}, make {names} {desk.say(by)} {word} at the tip, in its own direction."
    figures = tuple(Slide(piece.name, f"slit:{slit.name}", by) for slit in slits)
    picture = Picture(piece, lines=[slit.line for slit in slits])
    return HandStep(text, (), figures, pictures=(picture,), brief=f"Make {names} {desk.say(by)} {word} at the tip.")
