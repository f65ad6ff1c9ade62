"""Gores, slits and tabs by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.pattern.altered import Altered
from diagnose.pattern.geometry.plane import distance
from diagnose.pattern.in_words import edge_words, piece_words, slit_title
from diagnose.pattern.measure import slit_length
from diagnose.pattern.operations.openings.insert_gore import InsertGore
from diagnose.pattern.operations.openings.recut_gore import RecutGore
from diagnose.pattern.operations.openings.tabs import Tabs
from diagnose.pattern.outline import Pattern, Piece, Slit
from diagnose.sentences import listed
from diagnose.sheets.drawn.work_layers import gore_over
from diagnose.sheets.hand.figures import GoreFigure, HandStep, Ruled, Slide
from diagnose.sheets.hand.paper_marks import MOVED_ASIDE_MM
from diagnose.sheets.hand.paper_places import Desk, on_edge, within
from diagnose.sheets.hand.pictures import Picture

__all__ = ["gore_steps", "recut_gore_steps", "tab_steps"]


def recut_gore_steps(desk: Desk, do: RecutGore, before: Pattern, made: Altered) -> Iterator[HandStep]:
    """A slit and its gore swung, made longer or shorter: its line drawn anew, and the gore for it."""
    new = made.pattern.piece(do.piece)
    lips = next(lips for own, lips, _ in made.pattern.in_slits if own.piece == do.piece)
    piece = made.pattern.piece(lips.piece)
    slit = next(one for one in piece.slits if one.name == lips.slit)
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
    picture = Picture(piece, spots, lines=(slit.line,), patches=(gore_over(slit.line, width),))
    brief = f"A gore for {name}, {foot.mark}–{tip.mark}: legs {desk.say(leg)}, {desk.say(wide)} wide at the foot."
    yield HandStep(text, (), figures, pictures=(picture,), brief=brief)


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
        names, known = ({lips.slit for _, lips, _ in pattern.in_slits} for pattern in (made.pattern, before))
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
