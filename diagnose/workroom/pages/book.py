"""The handbook and the rules within the workroom: the same pages that `diagnose rules handbook` writes."""

from __future__ import annotations

from starlette.responses import Response

from diagnose.sheets.entry_pages import TERMS_PAGE
from diagnose.sheets.handbook.pages import FINDER, STYLE, TEMPLATES, page_at
from diagnose.workroom.asked import Asked, html
from diagnose.workroom.room import NoSuchPageError, Room
from diagnose.workroom.views import words_linked

__all__ = ["book_finder", "book_page", "book_style"]


def book_page(room: Room, asked: Asked) -> Response:
    """One page of the handbook, in the unit that her last case is in."""
    place = asked.path["place"]
    base = room.usual_base()
    text = room.kept(("book", base.digest, place), lambda: page_at(base, place))
    if text is None:
        raise NoSuchPageError
    home = '<nav aria-label="Handbook">'
    text = text.replace(home, f'{home}\n<a href="/">Your cases</a>', 1)
    return html(text if place == TERMS_PAGE else words_linked(text))


def book_style(_room: Room, _asked: Asked) -> Response:
    """The handbook's style."""
    return Response((TEMPLATES / STYLE).read_bytes(), media_type="text/css")


def book_finder(_room: Room, _asked: Asked) -> Response:
    """What finds entries of the handbook as words are typed."""
    return Response((TEMPLATES / FINDER).read_bytes(), media_type="text/javascript")
