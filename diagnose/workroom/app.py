"""The pages and what their buttons do."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.base import BaseHTTPMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from diagnose.errors import FitError
from diagnose.sheets.writers.html import write_html
from diagnose.workroom.guarding import Guard
from diagnose.workroom.holding import Holding
from diagnose.workroom.views import View

__all__ = ["page_app"]

STATIC = Path(__file__).parent / "static"
SEE_OTHER, WRONG = 303, 422


def page_app(holding: Holding, place: str, key: str, end: Callable[[], None], at_most_s: float) -> Starlette:
    """The application.

    Args:
        holding: the try-on under way.
        place: host and port; key: opens it once.
        end: ends the serving.
        at_most_s: how long the plan stays when nobody closes it.
    """
    pages = _Pages(holding, View(holding), end, at_most_s)
    routes = [
        Route("/", pages.start),
        Route("/question/{id}", pages.question, methods=["GET", "POST"]),
        Route("/answers", pages.answers),
        Route("/afresh", pages.afresh, methods=["POST"]),
        Route("/go-on", pages.go_on, methods=["POST"]),
        Route("/enough", pages.enough, methods=["POST"]),
        Route("/plan", pages.plan, methods=["GET", "POST"]),
        Route("/sheet", pages.sheet),
        Route("/close", pages.close, methods=["POST"]),
        Route("/page.css", _asset("page.css", "text/css")),
        Route("/page.js", _asset("page.js", "text/javascript")),
    ]
    guard = Guard(place, key, lambda why: View(holding).message("Not for this browser", why))
    return Starlette(routes=routes, middleware=[Middleware(BaseHTTPMiddleware, dispatch=guard)])


class _Pages:
    def __init__(self, holding: Holding, view: View, end: Callable[[], None], at_most_s: float) -> None:
        self._holding, self._view, self._end, self._at_most_s = holding, view, end, at_most_s

    async def start(self, _request: Request) -> Response:
        """On to where the try-on stands."""
        if self._holding.outcome is not None:
            return _to("/plan")
        if self._holding.resumed:
            return HTMLResponse(self._view.resume())
        walk = self._holding.walk()
        if walk.stop:
            return self._stored()
        return _to(f"/question/{walk.next.id}") if walk.next else _to("/answers")

    async def question(self, request: Request) -> Response:
        """One question; posted, its reply is kept, and one goes on."""
        walk = self._holding.walk()
        question = walk.question(request.path_params["id"])
        if question is None or self._holding.outcome is not None:
            return _to("/")
        if request.method == "GET":
            return HTMLResponse(self._view.question(question, walk))
        text = await _typed(request)
        try:
            if question.kind == "several" and not text:
                raise FitError.of("", "Nothing is picked.", "Pick what is so, or press one of the other buttons.")
            self._holding.reply(question, text)
        except FitError as error:
            return HTMLResponse(self._view.question(question, walk, text, error.mistakes), status_code=WRONG)
        return _to("/")

    async def answers(self, _request: Request) -> Response:
        """All answers so far, each with the way to change it."""
        if self._holding.outcome is not None:
            return _to("/plan")
        return HTMLResponse(self._view.answers(self._holding.walk()))

    async def afresh(self, _request: Request) -> Response:
        """Drop what was kept, and begin anew."""
        self._holding.afresh()
        return _to("/")

    async def go_on(self, _request: Request) -> Response:
        """Go on with what was kept."""
        self._holding.resumed = 0
        return _to("/")

    async def enough(self, _request: Request) -> Response:
        """No more late questions."""
        self._holding.enough()
        return _to("/answers")

    async def plan(self, request: Request) -> Response:
        """What it came to; posted, the try-on is stored first."""
        if request.method == "POST":
            return self._stored()
        if self._holding.outcome is None:
            return _to("/")
        return HTMLResponse(self._view.plan(self._holding.outcome))

    async def sheet(self, _request: Request) -> Response:
        """The fitting sheet, which carries its own style in it."""
        if self._holding.outcome is None:
            return _to("/")
        policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'"
        return HTMLResponse(write_html(self._holding.outcome), headers={"content-security-policy": policy})

    async def close(self, _request: Request) -> Response:
        """The last page; the serving ends after it."""
        asyncio.get_running_loop().call_later(0.3, self._end)
        done = self._holding.outcome is not None
        what = "The try-on is stored." if done else "The answers are kept; start it again to go on with them."
        return HTMLResponse(self._view.message("You can close this page", what))

    def _stored(self) -> Response:
        try:
            self._holding.done()
        except FitError as error:
            return HTMLResponse(self._view.answers(self._holding.walk(), error.mistakes), status_code=WRONG)
        asyncio.get_running_loop().call_later(self._at_most_s, self._end)
        return _to("/plan")


async def _typed(request: Request) -> str:
    """The reply as it would be typed: what was picked, or what was written."""
    fields = parse_qs((await request.body()).decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=200)
    if "tell" in fields:
        return fields["tell"][0]
    return " ".join(fields["pick"]) if "pick" in fields else fields.get("text", [""])[0]


def _to(path: str) -> Response:
    return RedirectResponse(path, status_code=SEE_OTHER)


def _asset(name: str, kind: str) -> Callable[[Request], Response]:
    data = (STATIC / name).read_bytes()
    return lambda _request: Response(data, media_type=kind)
