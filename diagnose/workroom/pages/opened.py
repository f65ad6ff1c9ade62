"""One case opened: its newest pattern, and the one thing to do next."""

from __future__ import annotations

from starlette.responses import Response

from diagnose.casebook import Case, photograph_of
from diagnose.casework.glance import Glance, glance_at
from diagnose.workroom.asked import Asked, file_of, html, url
from diagnose.workroom.drawings import Under, drawn, small_picture, under_of
from diagnose.workroom.room import NoSuchPageError, Room
from diagnose.workroom.views import page

__all__ = ["case_page", "next_step", "photograph", "photograph_under", "picture"]


def case_page(room: Room, asked: Asked) -> Response:
    """One case: the newest pattern, and what is next."""
    case = room.case(asked.path["case"])
    glance = glance_at(case.folder)
    sheet = drawn(case.pattern, None, case.unit, under=photograph_under(case), screen=asked.screen)
    return html(page("case.html.j2", title=case.name, case=case, here="case", sheet=sheet, next=next_step(case, glance),
                     glance=glance))  # fmt: skip


def photograph_under(case: Case) -> Under | None:
    """The photograph that the case began with, beneath every version: what was altered since shows against it."""
    found = photograph_of(case.folder)
    return under_of(found, url("case", case.folder.name, "photograph.jpg")) if found else None


def photograph(room: Room, asked: Asked) -> Response:
    """The straightened photograph that the case began with."""
    found = photograph_of(room.case(asked.path["case"]).folder)
    if found is None:
        raise NoSuchPageError
    return Response(found.picture, media_type="image/jpeg")


def next_step(case: Case, glance: Glance) -> tuple[str, str]:
    """The one thing to do next: what stands on the button, and where it leads."""
    name = case.folder.name
    if glance.under_way:
        return "Go on with the try-on", url("case", name, "tryon")
    if not case.tryons:
        return "Try it on", url("case", name, "tryon")
    if glance.stop and glance.tried == glance.versions:
        return "Read what to do now", url("case", name, "plan")
    if glance.versions > glance.tried:
        return "Try the new version on", url("case", name, "tryon")
    return "See the plan", url("case", name, "plan")


def picture(room: Room, asked: Asked) -> Response:
    """A version of a pattern as a small picture."""
    case = room.case(asked.path["case"])
    version = case.version(asked.number("version", case.newest.number))
    key = ("picture", case.folder.name, case.created, version.number)
    data = room.kept(key, lambda: small_picture(version.pattern))
    return file_of(data.encode(), "pattern.svg", shown=True)
