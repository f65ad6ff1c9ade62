"""A new case: the pattern file brought, drawn at once with what was understood, and put right by pointing at it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast, get_args

from msgspec.structs import replace
from starlette.responses import Response

from diagnose.casebook import Case
from diagnose.casework import begun as beginning
from diagnose.casework.begun import Begun, Seen
from diagnose.casework.sheeting import draft_said
from diagnose.errors import FitError, Mistake
from diagnose.interview import Question
from diagnose.interview.garment import garment_questions
from diagnose.model.standing import standing
from diagnose.model.stations import STATIONS
from diagnose.pattern.measure import edge_length, garment_girth
from diagnose.pattern.outline import Cut, EdgeRef, Pattern, Role, Seam
from diagnose.sheets.drawn.screens import Screen
from diagnose.sheets.words.names import speaking
from diagnose.sheets.words.parts import Said
from diagnose.units import Unit, both, in_her_unit, read_length
from diagnose.workroom.asked import Asked, html, to, url
from diagnose.workroom.drawings import Under, drawn, under_of
from diagnose.workroom.room import NoSuchPageError, Room
from diagnose.workroom.views import page

__all__ = ["bring", "drop", "photograph", "said", "shown", "start_case"]

WRONG = 422
ROLES: Mapping[Role, str] = {
    "seam": "sewn to another", "fold": "on the fold", "opening": "opens, hooked or buttoned", "lacing": "laced",
    "top": "top edge", "bottom": "hem",
}  # fmt: skip
CUTS: Mapping[Cut, str] = {"pair": "a pair, left and right", "fold": "once, on the fold", "single": "once"}
GIRTHS = ("bust", "underbust", "waist", "hip")
DRAWN_IN = {"planned_reduction": "To be drawn in at the waist"}
HEIGHTS_OF = {
    "underarm_to_waist": "From the pit of the arm down the side to the waist",
    "waist_to_hip": "From the waist down the side to where the hip was measured",
    "front_seated": "Sitting, from the lap up to where the front edge is to lie",
}

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
SO: Mapping[str, str] = {
    "lacing": "Nothing is laced", "seams": "Nothing is sewn there", "front": "The front is on the left",
    "middle": "The front is in the middle", "order": "They stand in this order",
}  # fmt: skip
"""What is said where it is so, though it is beyond belief."""
_EASE_IT = "Walk the two and draw one true, or say that the longer is eased in."
MOST_SIZES = 100
SURE = "sure-"
"""What a mistake's code begins with that is settled by saying that it is so."""
IN_PLACE = ("edge", "sew", "levels", "scale", "order", "piece", "whole", "about")
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
            unit = cast(Unit, asked.one("unit") if asked.one("unit") in get_args(Unit) else "in")
            files = [(one.name, one.data) for one in asked.files]
            with room.changing:
                made = _begun_with(room, asked.one("case"), files, unit=unit)
            return to("case", made.folder.name) if isinstance(made, Case) else to("begun", made.id)
        except FitError as error:
            wrong = error.mistakes
    return html(page("new.html.j2", title="A new case", case_name=asked.one("case"),
                     unit=asked.one("unit") or standing().unit or "in",
                     wrong=wrong), WRONG if wrong else 200)  # fmt: skip


def _begun_with(room: Room, case: str, files: Sequence[tuple[str, bytes]], unit: Unit) -> Begun | Case:
    """What is begun with these files.

    Raises:
        FitError: when they are refused, or nothing can be read of them that could be put right by pointing at it.
    """
    made = beginning.begin(room.folder, case, files, unit=unit)
    if isinstance(made, Case):
        return made
    found = beginning.understood(made)
    if found.pattern is None and not any(one.code.startswith(SURE) for one in found.wrong):
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
        what = _SAYS.get(asked.one("says"))
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
            case = beginning.start(begun, room.folder)
    except FitError as error:
        return html(_page(room, begun, error.mistakes, screen=asked.screen), WRONG)
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
        _told(refused) if refused and says == "about" else (begun.garment, begun.wearer, begun.target)
    )
    found = beginning.understood(begun)
    pattern = found.pattern
    under = _under(begun, pattern) if pattern else None
    unsewn = _unsewn(pattern) if pattern else []
    sheet = drawn(
        pattern, None, begun.unit, tapped=True, levels_from=found.low_mm, under=under, screen=screen, unsure=unsewn
    ) if pattern else None  # fmt: skip
    return page(
        "understood-part.html.j2" if lively else "understood.html.j2", title=begun.case, begun=begun, found=found,
        pattern=pattern, sheet=sheet, wrong=wrong, roles=ROLES, cuts=CUTS, stations=STATIONS, girths=GIRTHS,
        unsewn=unsewn, open=_open(found, begun.unit), heights_of=HEIGHTS_OF, said=_said(found, begun.unit),
        drawn_in=DRAWN_IN,
        around=_girths(pattern, begun.unit) if pattern else [], draft=_draft(room, begun, found),
        heights=_heights(found, begun.unit),
        edges=_edges(pattern, begun.unit) if pattern else [], pointed=POINTED, so=SO, questions=_questions(begun),
        unit=begun.unit, garment=garment, wearer=wearer, target=target or "", put=says if says in IN_PLACE else "",
        typed=refused.one if refused else lambda _name: "", lively=lively, eased_in=_eased_in(found),
    )  # fmt: skip


def _eased_in(found: Seen) -> dict[str, Seam]:
    """The seams whose edges differ too much to be sewn flat, each by where its mistake stands."""
    seams = found.pattern.seams if found.pattern else ()
    unlike = [one for one in found.wrong if one.code == "seam-lengths-differ"]
    return {one.where: seam for one in unlike for seam in seams if one.where.endswith(f", seam {seam.name}")}


def _unsewn(pattern: Pattern) -> list[EdgeRef]:
    """The edges that are to be sewn, and to which none is known."""
    sewn = {ref for seam in pattern.seams for ref in (seam.a, seam.b)}
    edges = [(EdgeRef(piece.name, edge.name), edge.role) for piece in pattern.pieces for edge in piece.edges]
    return [ref for ref, role in edges if role == "seam" and ref not in sewn]


def _said(found: Seen, unit: Unit) -> list[str]:
    """What was presumed, in her words."""
    return [_hers(line, found, unit) for line in found.said]


def _open(found: Seen, unit: Unit) -> list[Mistake]:
    """What is still open, in her unit and her words."""
    eased = _eased_in(found)

    def do(one: Mistake) -> str:
        # The page has a button for these.
        if one.code == "scale":
            return ""
        if one.code == "sizes":
            return "Say which is hers. The outermost may be the cutting line alone, which is no size."
        return _EASE_IT if one.where in eased else _hers(one.do, found, unit)

    return [replace(one, what=_hers(one.what, found, unit), do=do(one)) for one in found.wrong]


def _hers(text: str, found: Seen, unit: Unit) -> str:
    """A sentence in her unit, pieces and edges called as the drawing calls them."""
    pattern, said = found.pattern, speaking(found.pattern)(in_her_unit(text, unit))
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


def _heights(found: Seen, unit: Unit) -> dict[str, str]:
    """How high each level lies over the lowest point, where all pieces have it at one height."""
    heights: dict[str, str] = {}
    for name in STATIONS:
        ys = [y for piece in (found.pattern.pieces if found.pattern else ()) for _, y in piece.levels.get(name, ())]
        if ys and max(ys) - min(ys) < 1.0:
            heights[name] = both(ys[0] - found.low_mm, unit)
    return heights


def _edges(pattern: Pattern, unit: Unit) -> list[tuple[str, str, str, str]]:
    """Each edge: its piece and name, its role, and how long it is."""
    return [(piece.name, e.name, e.role, both(edge_length(e), unit)) for piece in pattern.pieces for e in piece.edges]


def _questions(begun: Begun) -> list[Question]:
    """What is asked of the garment; what is said of it stands beside each."""
    given = {f"garment.{name}": value for name, value in begun.garment.items()}
    return list(garment_questions({}, given))


def _labelled(change: Callable[[dict[str, Any], Begun, Asked], None]) -> Callable[[Begun, Asked], Begun]:
    def says(begun: Begun, asked: Asked) -> Begun:
        return beginning.change(begun, lambda labels: change(labels, begun, asked))

    return says


def _piece_of(labels: dict[str, Any], begun: Begun, name: str) -> dict[str, Any]:
    """What is said of a piece, by the number of its outline."""
    number = beginning.understood(begun).numbers.get(name)
    if number is None:
        raise FitError.of("", f"There is no piece “{name}”.", "Tap one on the drawing.", code="no-such-piece")
    return cast(dict[str, Any], labels.setdefault("pieces", {}).setdefault(number, {}))


def _edge(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    piece, _, edge = asked.one("edge").rpartition("|")
    if not edge:
        raise FitError.of("", "No edge is picked.", "Tap one on the drawing.", code="nothing-picked")
    row = _piece_of(labels, begun, piece)
    row.setdefault("edges", {}).setdefault(edge, {})["role"] = asked.one("role")


def _piece(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    old, new = asked.one("piece"), asked.one("name")
    row = _piece_of(labels, begun, old)
    if new and new != old:
        if new in beginning.understood(begun).numbers:
            raise FitError.of("", f"There is a piece “{new}” already.", "Give another name.", code="name-doubled")
        row["name"] = new
        _seams_renamed(labels, {old: new})
    if asked.one("cut"):
        row["cut"] = asked.one("cut")


def _seams_renamed(labels: dict[str, Any], names: Mapping[str, str]) -> None:
    """The seams said, of pieces that are called otherwise now."""
    for seam in labels.get("seams", ()):
        for side in ("a", "b"):
            piece, _, edge = str(seam[side]).rpartition("/")
            seam[side] = f"{names.get(piece, piece)}/{edge}"


def _order(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    """The pieces as she has tapped them, from the centre front on; those not tapped come after, as they stood."""
    found = beginning.understood(begun)
    stand = [*found.numbers]
    tapped = [name for n in range(1, len(stand) + 1) if (name := asked.one(f"order-{n}"))]
    if not tapped:
        raise FitError.of("", "No piece is picked.", "Tap them in their order, from the centre front on.",
                          code="nothing-picked")  # fmt: skip
    if len({*tapped} & {*stand}) < len(tapped):
        raise FitError.of("", "A piece stands there twice.", "Give each piece one place.", code="piece-doubled")
    order = [*tapped, *(name for name in stand if name not in tapped)]
    labels["order"] = [int(found.numbers[name]) for name in order]
    # What has no name of its own is called by where it stands.
    now = beginning.understood(replace(begun, labels={**labels, "seams": []})).numbers
    called = {number: name for name, number in now.items()}
    _seams_renamed(labels, {name: called.get(number, name) for name, number in found.numbers.items()})


def _seams_said(labels: dict[str, Any], begun: Begun) -> list[dict[str, Any]]:
    """The seams as they stand, so that one can be changed: those presumed are then said."""
    if "seams" not in labels:
        pattern = beginning.understood(begun).pattern
        labels["seams"] = [
            {"name": seam.name, "a": "/".join(seam.a), "b": "/".join(seam.b), "ease": seam.ease}
            for seam in (pattern.seams if pattern else ())
        ]
    return cast(list[dict[str, Any]], labels["seams"])


def _sew(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    a, b = ("/".join(asked.one(name).rsplit("|", 1)) for name in ("a", "b"))
    if "/" not in a or "/" not in b or a == b:
        raise FitError.of("", "A seam joins two edges.", "Tap the one, then the other.", code="two-edges")
    seams = [one for one in _seams_said(labels, begun) if not {a, b} & {one["a"], one["b"]}]
    names = {one["name"] for one in seams}
    name = next(name for name in (f"seam-{n}" for n in range(1, 999)) if name not in names)
    eased = {"ease": _longer_by(begun, a, b)} if asked.one("eased") else {}
    labels["seams"] = [*seams, {"name": name, "a": a, "b": b, **eased}]


def _longer_by(begun: Begun, a: str, b: str) -> str:
    """By how much the one edge is longer than the other, which is then eased in."""
    pattern = beginning.understood(begun).pattern
    if pattern is None:
        return "0 mm"
    ends = [tuple(name.rsplit("/", 1)) for name in (a, b)]
    one, other = (edge_length(pattern.piece(piece).edge(edge)) for piece, edge in ends)
    return f"{one - other:.3f} mm"


def _unpick(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    labels["seams"] = [one for one in _seams_said(labels, begun) if one["name"] != asked.one("seam")]


def _levels(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    said = {name: asked.one(f"level-{name}") for name in STATIONS}
    now = _heights(beginning.understood(begun), begun.unit)
    levels = labels.setdefault("levels", {})
    for name, text in said.items():
        if text and text != now.get(name):
            levels[name] = read_length(text, name, begun.unit)
        elif not text:
            levels.pop(name, None)


def _scale(labels: dict[str, Any], begun: Begun, asked: Asked) -> None:
    piece, _, edge = asked.one("edge").rpartition("|")
    found = beginning.understood(begun)
    if found.pattern is None or not edge:
        raise FitError.of(
            "", "No edge is picked.", "Tap the edge whose length you have measured.", code="nothing-picked"
        )
    drawn_mm = edge_length(found.pattern.piece(piece).edge(edge))
    true_mm = read_length(asked.one("measured"), "its true length", begun.unit)
    if not 0.01 < true_mm / drawn_mm < 100:
        raise FitError.of(
            "",
            "It can't be that much longer or shorter.",
            "Look at the edge and at what you typed.",
            code="wrong-scale",
        )
    labels["scale"] = found.unit_mm * true_mm / drawn_mm


def _sure(labels: dict[str, Any], _begun: Begun, asked: Asked) -> None:
    labels["sure"] = [*labels.get("sure", ()), asked.one("word")]


def _size(labels: dict[str, Any], _begun: Begun, asked: Asked) -> None:
    text = asked.one("size")
    if not (text.isascii() and text.isdecimal() and 0 < int(text[:6]) < MOST_SIZES):
        raise FitError.of("", "No size is picked.", "Give its number, counted from the inside.", code="nothing-picked")
    labels["size"] = int(text)


def _whole(labels: dict[str, Any], _begun: Begun, asked: Asked) -> None:
    labels["closure"] = asked.one("closure") or "back"
    labels["centre-front"] = asked.one("centre-front") or "left"


def _about(begun: Begun, asked: Asked) -> Begun:
    try:
        return beginning.about(begun, *_told(asked))
    except FitError as error:
        # The gap she aims at is typed once, and read for each station.
        found = {(_field(one.where), one.what): one for one in reversed(error.mistakes)}
        raise FitError([
            replace(one, what=f"{label}: {in_her_unit(one.what, begun.unit)}" if label else one.what)
            for (label, _), one in reversed(found.items())
        ]) from None  # fmt: skip


def _field(where: str) -> str:
    """What stands beside the field that a mistake in what is told of her is about."""
    part, _, name = where.partition(".")
    if part == "target":
        return "The lacing gap she aims at"
    return {**{name: f"{name.capitalize()}, round" for name in GIRTHS}, **DRAWN_IN, **HEIGHTS_OF}.get(name, "")


def _told(asked: Asked) -> tuple[dict[str, Any], dict[str, str], str | None]:
    """What is told of garment, wearer and target, as typed."""
    garment: dict[str, Any] = {}
    for question in garment_questions({}, {}):
        name = question.about
        word = asked.one(f"garment-{name}")
        if word:
            garment[name] = word == "yes" if question.kind == "yes-no" else word
    taken = (*GIRTHS, *DRAWN_IN, *HEIGHTS_OF)
    wearer = {name: asked.one(f"girth-{name}") for name in taken if asked.one(f"girth-{name}")}
    return garment, wearer, asked.one("target") or None


_SAYS: Mapping[str, Callable[[Begun, Asked], Begun]] = {
    "edge": _labelled(_edge), "piece": _labelled(_piece), "order": _labelled(_order),
    "sew": _labelled(_sew), "unpick": _labelled(_unpick),
    "levels": _labelled(_levels), "scale": _labelled(_scale), "whole": _labelled(_whole), "sure": _labelled(_sure),
    "size": _labelled(_size),
    "about": _about,
}  # fmt: skip
