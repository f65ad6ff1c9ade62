"""Altering by her own hand: pick what is done, tap its line on the drawing, type the amount, see it, keep it or not.

What a form asks for stands in `FORMS`, in her words; it becomes the operation's JSON, which is read, checked and done
by the same functions as everywhere. Nothing is stored before she says so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from starlette.responses import Response

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.errors import FitError, Mistake
from diagnose.model.stations import STATIONS
from diagnose.pattern.altered import Altered
from diagnose.pattern.in_words import bone_numbers, notes_said
from diagnose.pattern.operations import Operation, do, parse_operations
from diagnose.pattern.outline import Pattern
from diagnose.pattern.report import change_report
from diagnose.sheets.words.change_text import change_lines
from diagnose.units import Unit, in_her_unit, read_length
from diagnose.workroom.asked import WRONG, Asked, html, to
from diagnose.workroom.drawings import drawn
from diagnose.workroom.pages.opened import photograph_under
from diagnose.workroom.room import Room
from diagnose.workroom.views import page

__all__ = ["FORMS", "alter"]


class Ask(Struct, frozen=True):
    """One thing that a form asks for.

    Attributes:
        kind: piece, edge, point, length, station, choice, bone or tick.
        name: of its field; a point has two, ``NAME-across`` and ``NAME-up``.
        label: what stands beside it.
        options: of a choice, the value and what stands for it.
        may: it may be left out.
    """

    kind: str
    name: str
    label: str
    options: tuple[tuple[str, str], ...] = ()
    may: bool = False


class Form(Struct, frozen=True):
    """One way of altering: its operation, what it is called, how it is told, what it asks for."""

    op: str
    title: str
    how: str
    asks: tuple[Ask, ...]


MOVING = (("left", "The part on the left, looking from first to second"), ("right", "The part on the right"))
FORMS: tuple[Form, ...] = (
    Form("move-edge", "Move an edge inwards or outwards", "Tap the edge. To move it inwards write the amount alone "
         "(1/4 in); to move it outwards put a minus before it (-1/4 in). Between the places given the amount runs "
         "smoothly; one alone moves the whole edge.",
         asks=(Ask("edge", "edge", "Edge"),
          *(Ask("length", f"at-{name}", f"At the {name}", may=True) for name in STATIONS),
          Ask("tick", "true_partner", "True the edge it is sewn to"))),
    Form("fold", "Fold out along a line, or cut and spread", "Tap where the line begins and where it ends. To fold "
         "out write the amount alone (1/4 in); to cut and spread put a minus before it (-1/4 in).",
         asks=(Ask("piece", "piece", "Piece"), Ask("point", "from", "The line begins"), Ask("point", "to", "It ends"),
          Ask("length", "amount_from", "How much where it begins"),
          Ask("length", "amount_to", "How much where it ends"),
          Ask("choice", "move", "What moves", options=MOVING))),
    Form("dart", "Close a dart, and open it elsewhere", "Tap the mouth on the edge, the point inside, and where it is "
         "to open instead.",
         asks=(Ask("piece", "piece", "Piece"), Ask("point", "mouth", "The middle of its mouth"),
          Ask("point", "point", "Its point"), Ask("length", "width", "How wide the mouth is"),
          Ask("point", "relief", "Opens here instead", may=True))),
    Form("reshape-edge", "Raise or lower a stretch of an edge", "Tap the edge, then where the change begins, where it "
         "is greatest, and where it ends.",
         asks=(Ask("edge", "edge", "Edge"), Ask("point", "from", "Nothing here"), Ask("point", "peak", "Most here"),
          Ask("point", "to", "Nothing again here"), Ask("length", "height", "How much"),
          Ask("choice", "direction", "Which way", options=(("up", "up"), ("down", "down"), ("in", "inwards"),
          ("out", "outwards"))))),
    Form("length", "Shorten or lengthen", "All pieces, at one height. To shorten write the amount alone (1/2 in); "
         "to lengthen put a minus before it (-1/2 in).",
         asks=(Ask("station", "station", "At the level"),
          Ask("length", "offset", "So far above it (below: -1 in)", may=True),
          Ask("length", "amount", "How much"))),
    Form("insert-gore", "Set in a gore", "Tap the foot of the slit on the hem or the top edge, then its tip inside.",
         asks=(Ask("piece", "piece", "Piece"), Ask("point", "slit_foot", "The slit begins"),
          Ask("point", "tip", "Its tip"),
          Ask("length", "width", "How wide at the foot"))),
    Form("channels", "Take a bone out, or carry it to the edge", "Tap the piece, and name the bone.",
         asks=(Ask("bone", "bone", "Bone"),
          Ask("choice", "does", "What is done", options=(("remove", "taken out"), ("top", "carried up to the top edge"),
                                                 ("bottom", "carried down to the hem"))))),
    Form("strap", "Move, lengthen or widen a strap", "Of the piece that bears the strap's end.",
         asks=(Ask("piece", "piece", "Piece"), Ask("choice", "end", "Which end", options=(("front", "front"), ("back",
          "back"))),
          Ask("length", "move", "Moved towards the neck", may=True),
          Ask("length", "lengthen", "Longer", may=True), Ask("length", "widen", "Wider", may=True))),
    Form("tabs", "Deepen or flare the tabs", "All tabs of a piece.",
         asks=(Ask("piece", "piece", "Piece"), Ask("length", "deepen", "Slits deeper", may=True),
          Ask("length", "lengthen", "Tabs longer", may=True), Ask("length", "flare", "More flare", may=True))),
    Form("split-sides", "Part left and right", "So that one side can be altered alone.",
         asks=(Ask("piece", "piece", "Piece"),)),
)  # fmt: skip
BY_OP: Mapping[str, Form] = {form.op: form for form in FORMS}


def alter(room: Room, asked: Asked) -> Response:
    """The forms; sent, the alteration is shown; kept, it is stored as the next version."""
    case = room.case(asked.path["case"])
    form = BY_OP.get(asked.one("op") or asked.query.get("op", ""), FORMS[0])
    wrong: Sequence[Mistake] = ()
    made: Altered | None = None
    if asked.posts:
        try:
            doing = parse_operations(_json(form, asked, case.unit), form.title, case.unit)
            made = do(case.pattern, doing, form.title)
            if asked.one("does-keep"):
                return _kept(room, case, asked, doing=doing, made=made)
        except FitError as error:
            wrong, made = [_told(one, form) for one in error.mistakes], None
    return html(_page(case, form, asked, made=made, wrong=wrong), WRONG if wrong and not asked.lively else 200)


def _told(one: Mistake, form: Form) -> Mistake:
    """A mistake as it is told beneath its form, which need not be named."""
    return replace(one, where=one.where.removeprefix(form.title).removeprefix(", "))


def _kept(room: Room, case: Case, asked: Asked, doing: Sequence[Operation], made: Altered) -> Response:
    """Store it, unless another version was stored since she saw it."""
    with room.changing:
        now = room.case(case.folder.name)
        if asked.one("of") != str(now.newest.number):
            what = f"Version {now.newest.number} was stored meanwhile, on another device or in another window."
            raise FitError.of("", what, "Look at it, and do this again on it.", code="newer-version")
        noted = notes_said(made.notes, bone_numbers(now.pattern, made.pattern))
        casebook.add_version(now, made.pattern, now.newest.number, operations=doing, steps=(), notes=noted)
    return to("case", case.folder.name, "versions")


def _page(case: Case, form: Form, asked: Asked, made: Altered | None, wrong: Sequence[Mistake]) -> str:
    sheet = drawn(
        made.pattern if made else case.pattern, case.pattern if made else None, case.unit, tapped=True,
        under=photograph_under(case), screen=asked.screen,
    )  # fmt: skip
    told = [] if made is None else [
        *change_lines(change_report(case.pattern, made.pattern), case.pattern, made.pattern, unit=case.unit),
        *notes_said(made.notes, bone_numbers(case.pattern, made.pattern)),
    ]  # fmt: skip
    template = "altered.html.j2" if asked.lively else "alter.html.j2"
    return page(
        template, title=form.title, case=case, here="alter", forms=FORMS, form=form, fields=asked.fields, sheet=sheet,
        made=made, said=told, wrong=wrong, pattern=case.pattern, stations=_stations(case.pattern),
        hers=lambda text: in_her_unit(text, case.unit), numbers=bone_numbers(case.pattern),
    )  # fmt: skip


def _stations(pattern: Pattern) -> list[str]:
    return [name for name in STATIONS if any(name in piece.levels for piece in pattern.pieces)]


def _json(form: Form, asked: Asked, unit: Unit) -> dict[str, Any]:
    """The operation that a form comes to.

    Raises:
        FitError: with everything that is missing or is no length.
    """
    raw: dict[str, Any] = {"op": form.op}
    mistakes: list[Mistake] = []
    for ask in form.asks:
        try:
            value = _value(ask, asked, unit)
        except FitError as error:
            mistakes += error.mistakes
            continue
        if value is None and not ask.may:
            mistakes.append(
                Mistake(
                    ask.label, f"“{ask.label}” is missing.", "Tap it on the drawing, or fill it in.", code="missing"
                )
            )
        elif value is not None and ask.kind in ("edge", "bone"):  # what is of a piece is picked with it
            raw["piece"], _, raw[ask.name] = value.rpartition("|")
        elif value is not None:
            raw[ask.name] = value
    if mistakes:
        raise FitError(mistakes)
    return _FINISHED.get(form.op, dict)(raw)


def _value(ask: Ask, asked: Asked, unit: Unit) -> Any:
    """What was filled in; None for nothing."""
    if ask.kind == "point":
        across, up = asked.one(f"{ask.name}-across"), asked.one(f"{ask.name}-up")
        return [read_length(across, ask.label, unit), read_length(up, ask.label, unit)] if across or up else None
    text = asked.one(ask.name)
    if ask.kind == "tick":
        return bool(text)
    return (read_length(text, ask.label, unit) if ask.kind == "length" else text) if text else None


def _at_places(raw: dict[str, Any]) -> dict[str, Any]:
    """For `move-edge`: the amounts by station in a list."""
    places = [{"at": name, "mm": raw.pop(f"at-{name}")} for name in STATIONS if f"at-{name}" in raw]
    if not places:
        raise FitError.of("", "No amount is given.", "Say how much at one level at least.", code="missing")
    return {**raw, "by": places}


def _at_level(raw: dict[str, Any]) -> dict[str, Any]:
    return {
        "op": raw["op"],
        "at": {"station": raw["station"], "offset": raw.get("offset", 0.0)},
        "amount": raw["amount"],
    }


def _bones(raw: dict[str, Any]) -> dict[str, Any]:
    made = {"op": raw["op"], "piece": raw["piece"]}
    if raw["does"] == "remove":
        return {**made, "remove": [raw["bone"]]}
    return {**made, "extend": [raw["bone"]], "to": raw["does"]}


_FINISHED: Mapping[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "move-edge": _at_places, "length": _at_level, "channels": _bones,
}  # fmt: skip
