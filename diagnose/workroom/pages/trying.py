"""The try-on inside a case: one question a page, each reply kept at once among those on disk, whoever gives it where.

A page names the try-on that it is of. One that was left open while the try-on was stored elsewhere changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from markupsafe import Markup
from starlette.responses import Response

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.casework.under_way import change_replies, replies_now
from diagnose.errors import FitError, Mistake
from diagnose.interview import Question, Value, Walk, read_reply, said
from diagnose.interview.flow import ENOUGH
from diagnose.interview.signs import LATE
from diagnose.units import SPELLED
from diagnose.workroom.asked import WRONG, Asked, html, to
from diagnose.workroom.pages.gap_view import gap_view
from diagnose.workroom.room import Room
from diagnose.workroom.views import page

__all__ = ["afresh", "answers", "enough", "question", "start", "store"]

_OTHERWISE = "or press one of the other buttons."
_EMPTY = {
    "several": ("Nothing is picked.", f"Pick what is so, {_OTHERWISE}"),
    "length": ("Nothing is typed.", f"Type the length, {_OTHERWISE}"),
    "minutes": ("Nothing is typed.", f"Type the minutes, {_OTHERWISE}"),
}
"""What is said, and what to do, where nothing was told."""


def start(room: Room, asked: Asked) -> Response:
    """On to where the try-on stands; stop signs that are up are stored at once."""
    case = room.case(asked.path["case"])
    walk = room.walk(case, replies_now(case))
    number = len(case.tryons) + 1
    if walk.stop:
        return _stored(room, case, walk)
    where = ("ask", walk.next.id) if walk.next else ("answers",)
    return to("case", case.folder.name, "tryon", number, *where)


def question(room: Room, asked: Asked) -> Response:
    """One question; posted, its reply is kept, and one goes on."""
    case, gone = _of_this(room, asked)
    if gone is not None:
        return gone
    walk = room.walk(case, replies_now(case))
    found = walk.question(asked.path["question"])
    if found is None:
        return to("case", case.folder.name, "tryon")
    if not asked.posts:
        return html(_question(room, case, found, walk=walk))
    typed = _typed(asked)
    try:
        if not typed and found.kind in _EMPTY:
            raise FitError.of("", *_EMPTY[found.kind], code="nothing-told")
        value = read_reply(found, typed, case.unit)
        other = _answered_elsewhere(asked, found, walk, value=value, case=case)
        if other is not None:
            return html(_question(room, case, found, walk=walk, typed=typed, wrong=(other,)), WRONG)
        _change(room, case, lambda replies: replies.update({found.id: value}))
    except FitError as error:
        return html(_question(room, case, found, walk=walk, typed=typed, wrong=error.mistakes), WRONG)
    return to("case", case.folder.name, "tryon")


def answers(room: Room, asked: Asked) -> Response:
    """All answers so far, each with the way to change it."""
    case, gone = _of_this(room, asked)
    return gone if gone is not None else html(_answers(room, case))


def afresh(room: Room, asked: Asked) -> Response:
    """Drop what was answered, and begin anew."""
    case, gone = _of_this(room, asked)
    if gone is not None:
        return gone
    with room.changing:
        casebook.drop_draft(case)
    return to("case", case.folder.name, "tryon")


def enough(room: Room, asked: Asked) -> Response:
    """No more late questions."""
    case, gone = _of_this(room, asked)
    if gone is not None:
        return gone
    _change(room, case, lambda replies: replies.update({ENOUGH: True}))
    return to("case", case.folder.name, "tryon", asked.path["number"], "answers")


def store(room: Room, asked: Asked) -> Response:
    """Store the try-on, once, and show the plan."""
    case, gone = _of_this(room, asked)
    return gone if gone is not None else _stored(room, case, room.walk(case, replies_now(case)))


def _of_this(room: Room, asked: Asked) -> tuple[Case, Response | None]:
    """The case, and where a page of another try-on than the next is sent."""
    case = room.case(asked.path["case"])
    number = asked.path["number"]
    if number == str(len(case.tryons) + 1):
        return case, None
    return case, to("case", case.folder.name, "plan")


def _change(room: Room, case: Case, change: Callable[[dict[str, Value]], None]) -> None:
    with room.changing:
        change_replies(case, room.interview(case), change)


def _stored(room: Room, case: Case, walk: Walk) -> Response:
    try:
        with room.changing:
            now = casebook.open_case(case.folder)
            if len(now.tryons) == len(case.tryons):
                room.store_tryon(case, walk.answers)
    except FitError as error:
        return html(_answers(room, case, error.mistakes), WRONG)
    return to("case", case.folder.name, "plan")


def _typed(asked: Asked) -> str:
    """The reply as it would be typed: what was picked, or what was written."""
    if "tell" in asked.fields:
        return asked.one("tell")
    return " ".join(asked.all("pick")) if "pick" in asked.fields else asked.one("text")


def _answered_elsewhere(asked: Asked, found: Question, walk: Walk, value: Value, case: Case) -> Mistake | None:
    """What to say when the question was answered elsewhere since this page was made, and otherwise."""
    now = walk.replies
    if "had" not in asked.fields or found.id not in now:
        return None
    said_now = said(found, now[found.id], case.unit)
    if said_now in (asked.one("had"), said(found, value, case.unit)):
        return None
    return Mistake(
        "",
        f"On another device or in another window this was answered meanwhile: {said_now}.",
        "Send yours again to keep yours.",
        code="answered-elsewhere",
    )


def _question(
    room: Room, case: Case, asked: Question, walk: Walk, typed: str | None = None, wrong: Sequence[Mistake] = ()
) -> str:
    """One question as a page.

    Args:
        room: for what decides on the questions.
        case: whose try-on it is.
        asked: the question; walk: where the try-on stands.
        typed: what was typed and refused; wrong: why.
    """
    values = walk.replies
    answered = asked.id in values
    before = walk.before(asked.id)
    return page(
        "question.html.j2", title=asked.text, case=case, here="tryon", question=asked, wrong=wrong, answered=answered,
        tryon=len(case.tryons) + 1, number=walk.number(asked), about=walk.how_many(asked), late=asked.part in LATE,
        value=values.get(asked.id), typed=_written(values.get(asked.id), typed),
        was=said(asked, values[asked.id], case.unit) if answered else "",
        last="" if asked.last is None else said(asked, asked.last, case.unit),
        before=before.id if before else None, unit=case.unit, spelled=SPELLED[case.unit], so_far=len(values),
        gap=gap_view(asked, walk, room.interview(case), unit=case.unit) if asked.station else None,
        pictures=_pictures(room, case, asked), entries=_entries(room, case, asked), linked=room.terms(case).linked,
    )  # fmt: skip


def _entries(room: Room, case: Case, asked: Question) -> list[tuple[str, str]]:
    """The handbook's entries of what a question is about: the title and the page of each."""
    from diagnose.sheets.entry_pages import page_of

    known = room.base(case).entries
    about = dict.fromkeys([*(option.id for option in asked.options), asked.about, asked.id.partition(".")[2]])
    signs = [(known.symptoms[id_].title, page_of("symptoms", id_)) for id_ in about if id_ in known.symptoms]
    return signs + [(known.questions[id_].ask, page_of("questions", id_)) for id_ in about if id_ in known.questions]


def _pictures(room: Room, case: Case, asked: Question) -> dict[str, Markup]:
    """The picture of each sign that a question is about, by its id."""
    signs = room.base(case).entries.symptoms
    asked_of = dict.fromkeys([*(option.id for option in asked.options), asked.about])
    found = {id_: room.sign_picture(case, signs[id_]) for id_ in asked_of if id_ in signs}
    return {id_: picture for id_, picture in found.items() if picture}


def _answers(room: Room, case: Case, wrong: Sequence[Mistake] = ()) -> str:
    """All answers so far as a page."""
    replies = replies_now(case)
    walk = room.walk(case, replies)
    rows = [(one, said(one, value, case.unit)) for one, value in walk.answered]
    further = {*replies} - {one.id for one, _ in walk.answered} - {ENOUGH}
    ready = walk.next is None and not walk.trouble
    title = "That is all that is needed" if ready else "Your answers so far"
    return page("answers.html.j2", title=title, case=case, here="tryon", tryon=len(case.tryons) + 1, rows=rows,
                ready=ready, further=bool(further), wrong=(*wrong, *walk.trouble))  # fmt: skip


def _written(value: Value, typed: str | None) -> str:
    """What stands in the box to type in."""
    if typed is not None:
        return typed
    if value is None or isinstance(value, bool | list):
        return ""
    return f"{value:g}" if isinstance(value, float) else value
