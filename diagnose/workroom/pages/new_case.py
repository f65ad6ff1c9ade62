"""A new case: the pattern file brought, drawn at once with what was understood, and put right by pointing at it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import cast

from msgspec.structs import replace
from starlette.responses import Response

from diagnose.casebook import Case
from diagnose.casework import begun as beginning
from diagnose.casework.begun import Begun, Seen
from diagnose.casework.sheeting import draft_said
from diagnose.errors import FitError, Mistake
from diagnose.interview import Question, garment_questions
from diagnose.model.standing import standing
from diagnose.model.stations import STATIONS
from diagnose.pattern.measure import edge_length, garment_girth
from diagnose.pattern.outline import Cut, EdgeRef, Pattern, Role, Seam
from diagnose.sheets.drawn.screens import Screen
from diagnose.sheets.words.parts import Said
from diagnose.units import UNITS, Unit, both
from diagnose.workroom.asked import WRONG, Asked, html, to, url
from diagnose.workroom.drawings import Under, drawn, under_of
from diagnose.workroom.pages.giving import card_papers
from diagnose.workroom.pages.pointing import DRAWN_IN, GIRTHS, HEIGHTS_OF, SAYS, level_heights, told_of_her
from diagnose.workroom.pages.round_pieces import CORNERS, PLACES, round_pieces
from diagnose.workroom.room import NoSuchPageError, Room
from diagnose.workroom.telling import do_here
from diagnose.workroom.views import page

__all__ = ["bring", "drop", "photograph", "said", "shown", "start_case"]

ROLES: Mapping[Role, str] = {
    "seam": "sewn to another", "fold": "on the fold", "opening": "opens, hooked or buttoned", "lacing": "laced",
    "top": "top edge", "bottom": "hem",
}  # fmt: skip
CUTS: Mapping[Cut, str] = {"pair": "a pair, left and right", "fold": "once, on the fold", "single": "once"}
POINTED: Mapping[str, tuple[str, str]] = {
    "waist": ("Give one length you have measured", "edge-long"),
    "underbust": ("Look at her girths", "girth-underbust"),
    "hip": ("Look at her girths", "girth-hip"),
    "height": ("Give one length you have measured", "edge-long"),
    "pixels": ("Give one length you have measured", "edge-long"),
    "lacing": ("Point at the edge that is laced", "edge-is"),
    "seams": ("Point at what is sewn together", "sew-a"),
    "order": ("Tap the pieces in their order", "order-1"),
    "front": ("Say where the front lies", "centre-front"),
    "middle": ("Say where the front lies", "centre-front"),
}
"""Where on the page that is put right which is open: what stands on its button, and the field it leads to."""
SAID_LAST: Mapping[str, str] = {
    "edge": "what an edge is", "piece": "how a piece is called and cut", "order": "the order of the pieces",
    "sew": "what is sewn together", "unpick": "what is not sewn together", "as-one": "two edges made one",
    "apart": "an edge made two", "corners": "the corners of a piece", "levels": "where the levels lie",
    "scale": "how long an edge is", "whole": "which way round it is", "sure": "that it is so", "size": "the size",
}  # fmt: skip
"""What is taken back, by the word of the form that said it."""
SO: Mapping[str, str] = {
    "lacing": "Nothing is laced", "seams": "Nothing is sewn there", "front": "The front is on the left",
    "middle": "The front is in the middle", "order": "They stand right as they are",
    "twins": "They are left and right of one",
}  # fmt: skip
"""What is said where it is so, though it is beyond belief."""
_EASE_IT = "Walk the two and draw one true, or say that the longer is eased in."
IN_PLACE = ("edge", "as-one", "corners", "sew", "levels", "scale", "order", "piece", "whole", "about")
"""What is said in a form of its own, where a refusal is told and what was typed stays."""


def bring(room: Room, asked: Asked) -> Response:
    """Choose the pattern file; sent, it is begun with."""
    wrong: tuple[Mistake, ...] = ()
    if asked.posts:
        try:
            if not asked.files:
                raise FitError.of(
                    "",
                    "No file is chosen.",
                    "Choose the pattern: a drawing, a table, or a whole case.",
                    code="nothing-picked",
                )
            unit = cast(Unit, asked.one("unit") if asked.one("unit") in UNITS else "in")
            files = [(one.name, one.data) for one in asked.files]
            made = _begun_with(room, asked.one("case"), files, unit=unit, ruler=asked.one("ruler"))
            return to("case", made.folder.name) if isinstance(made, Case) else to("begun", made.id)
        except FitError as error:
            wrong = error.mistakes
    return html(page("new.html.j2", title="A new case", case_name=asked.one("case"),
                     unit=asked.one("unit") or standing().unit or "in",
                     papers=card_papers(), ruler=asked.one("ruler"),
                     wrong=wrong), WRONG if wrong else 200)  # fmt: skip


def _begun_with(room: Room, case: str, files: Sequence[tuple[str, bytes]], unit: Unit, ruler: str) -> Begun | Case:
    """What is begun with these files.

    Raises:
        FitError: when they are refused, or nothing can be read of them that could be put right by pointing at it.
    """
    with room.changing:
        made = beginning.begin(room.folder, case, files, unit=unit, ruler=ruler)
    if isinstance(made, Case):
        return made
    found = beginning.understood(made)  # of a photograph it takes seconds, in which others change what is theirs
    if found.pattern is None and not any(one.sure_word for one in found.wrong):
        with room.changing:
            beginning.drop(made)
        raise FitError(found.wrong)
    return made


def shown(room: Room, asked: Asked) -> Response:
    """What was understood."""
    return html(_page(room, _begun(room, asked), screen=asked.screen))


def said(room: Room, asked: Asked) -> Response:
    """What she says otherwise; shown at once."""
    begun = _begun(room, asked)
    wrong: tuple[Mistake, ...] = ()
    try:
        what = SAYS.get(asked.one("says"))
        if what is None:
            raise NoSuchPageError
        with room.changing:
            begun = what(begun, asked)
    except FitError as error:
        wrong = error.mistakes
    if not wrong and not asked.lively:
        return to("begun", begun.id)
    return html(
        _page(room, begun, wrong, refused=asked if wrong else None, lively=asked.lively, screen=asked.screen),
        WRONG if wrong and not asked.lively else 200,
    )


def start_case(room: Room, asked: Asked) -> Response:
    """Start the case with what was understood."""
    begun = _begun(room, asked)
    try:
        with room.changing:
            if asked.one("says"):  # what is typed of her goes along
                begun = SAYS["about"](begun, asked)
            case = beginning.start(begun, room.folder)
    except FitError as error:
        return html(_page(room, begun, error.mistakes, refused=asked, screen=asked.screen), WRONG)
    return to("case", case.folder.name)


def drop(room: Room, asked: Asked) -> Response:
    """Give it up."""
    with room.changing:
        beginning.drop(_begun(room, asked))
    return to()


def _begun(room: Room, asked: Asked) -> Begun:
    begun = beginning.open_begun(room.folder, asked.path["begun"])
    if begun is None:
        raise NoSuchPageError("It was started as a case, or given up. What is started stands among your cases.")
    return begun


def _page(
    room: Room, begun: Begun, wrong: tuple[Mistake, ...] = (), *, refused: Asked | None = None, lively: bool = False,
    screen: Screen = "wide",
) -> str:  # fmt: skip
    """What was understood; with what was refused, just as it was typed, and why."""
    says = refused.one("says") if refused else ""
    garment, wearer, target = (
        told_of_her(refused) if refused and says == "about" else (begun.garment, begun.wearer, begun.target)
    )
    found = beginning.understood(begun)
    pattern = found.pattern
    wrong = tuple(_told(one, found) for one in wrong)
    under = _under(begun, pattern) if pattern else None
    unsewn = _unsewn(pattern) if pattern else []
    sheet = drawn(
        pattern, None, begun.unit, tapped=True, levels_from=found.low_mm, under=under, screen=screen, unsure=unsewn
    ) if pattern else None  # fmt: skip
    return page(
        "understood-part.html.j2" if lively else "understood.html.j2", title=begun.case, begun=begun, found=found,
        pattern=pattern, sheet=sheet, roles=ROLES, cuts=CUTS, stations=STATIONS, girths=GIRTHS,
        unsewn=unsewn, joined=_joined(begun, found), turned=begun.is_laid_out and _is_turned(pattern, unsewn),
        open=_open(found), heights_of=HEIGHTS_OF, said=[_hers(line, found) for line in found.said],
        drawn_in=DRAWN_IN, wrong=wrong,
        around=_girths(pattern, begun.unit) if pattern else [], draft=_draft(room, begun, found),
        heights=level_heights(found, begun.unit),
        edges=_edges(pattern, begun.unit) if pattern else [], pointed=POINTED, so=SO, questions=_questions(begun),
        unit=begun.unit, garment=garment, wearer=wearer, target=target or "", put=says if says in IN_PLACE else "",
        round=round_pieces(begun, found), corners=CORNERS, places=PLACES,
        last=SAID_LAST.get(begun.before[-1][0], "the last") if begun.before else "",
        typed=refused.one if refused else lambda _name: "", lively=lively, eased_in=_eased_in(found),
    )  # fmt: skip


def _eased_in(found: Seen) -> dict[str, Seam]:
    """The seams whose edges differ too much to be sewn flat, by name."""
    unlike = {one.about for one in found.wrong if one.code == "seam-lengths-differ"}
    return {seam.name: seam for seam in (found.pattern.seams if found.pattern else ()) if seam.name in unlike}


def _is_turned(pattern: Pattern | None, unsewn: Sequence[EdgeRef]) -> bool:
    """Whether two edges that are sewn to nothing meet at a corner, and so may be one."""
    rings = [[EdgeRef(piece.name, edge.name) for edge in piece.edges] for piece in (pattern.pieces if pattern else ())]
    return any(one in unsewn and ring[n - 1] in unsewn for ring in rings for n, one in enumerate(ring))


def _joined(begun: Begun, found: Seen) -> list[str]:
    """The pieces of which edges were said to be one."""
    said = begun.labels.get("pieces", {})
    return [name for name, number in found.numbers.items() if said.get(number, {}).get("as-one")]


def _unsewn(pattern: Pattern) -> list[EdgeRef]:
    """The edges that are to be sewn, and to which none is known."""
    sewn = {ref for seam in pattern.seams for ref in seam.refs}
    edges = [(EdgeRef(piece.name, edge.name), edge.role) for piece in pattern.pieces for edge in piece.edges]
    return [ref for ref, role in edges if role == "seam" and ref not in sewn]


def _open(found: Seen) -> list[Mistake]:
    """What is still open, in her words."""

    def do(one: Mistake) -> str:
        # The page has a button for this.
        if one.code == "scale":
            return ""
        return _EASE_IT if one.code == "seam-lengths-differ" else _hers(do_here(one), found)

    return [replace(_told(one, found), do=do(one)) for one in found.wrong]


def _told(one: Mistake, found: Seen) -> Mistake:
    """A mistake in her words, the piece it is about called as the drawing calls it."""
    names = {number: name for name, number in found.numbers.items()}
    where = re.sub(r"(?<=^what you said, piece )\d+", lambda match: names.get(match[0], match[0]), one.where)
    return replace(one, where=where, what=_hers(one.what, found), do=_hers(do_here(one), found), typed="")


def _hers(said: str, found: Seen) -> str:
    """A sentence, pieces and edges called as the drawing calls them."""
    pattern = found.pattern
    names = {edge.name for piece in pattern.pieces for edge in piece.edges} if pattern else set()
    for name in (name for name in names if "-" in name):
        said = re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", name.replace("-", " "), said)
    return said


def _under(begun: Begun, pattern: Pattern) -> Under | None:
    """The straightened photograph beneath the outlines."""
    found = beginning.photograph(begun, pattern)
    return None if found is None else under_of(found, url("begun", begun.id, "photograph.jpg"))


def photograph(room: Room, asked: Asked) -> Response:
    """The straightened photograph."""
    begun = _begun(room, asked)
    pattern = beginning.understood(begun).pattern
    found = beginning.photograph(begun, pattern) if pattern else None
    if found is None:
        raise NoSuchPageError
    return Response(found.picture, media_type="image/jpeg")


def _draft(room: Room, begun: Begun, found: Seen) -> tuple[str, list[Said]] | None:
    """The draft held against the body, as far as the girths are told: its verdict, and what it rests on."""
    if found.pattern is None or not found.sound or not begun.wearer:
        return None
    pattern = found.pattern
    told = {"garment": begun.garment, "wearer": begun.wearer, "target": begun.target}
    key = ("draft", begun.id, repr(told), repr(begun.labels))
    return room.kept(key, lambda: draft_said(pattern, told, begun.unit), engine=True)


def _girths(pattern: Pattern, unit: Unit) -> list[tuple[str, str]]:
    """The girth of the whole at each station."""
    found = [(name, garment_girth(pattern, name)) for name in STATIONS]
    return [(name, both(mm, unit)) for name, mm in found if mm is not None]


def _edges(pattern: Pattern, unit: Unit) -> list[tuple[str, str, str, str]]:
    """Each edge: its piece and name, its role, and how long it is."""
    return [(piece.name, e.name, e.role, both(edge_length(e), unit)) for piece in pattern.pieces for e in piece.edges]


def _questions(begun: Begun) -> list[Question]:
    """What is asked of the garment; what is said of it stands beside each."""
    given = {f"garment.{name}": value for name, value in begun.garment.items()}
    return list(garment_questions({}, given))
