"""All addresses, and what stands between a request and the page that answers it."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Callable, Collection
from pathlib import Path
from threading import Lock

from msgspec.structs import replace
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from diagnose.casebook.safely import refusal
from diagnose.errors import FitError
from diagnose.workroom.asked import WRONG, Asked, html, read_asked
from diagnose.workroom.door.devices import Doors
from diagnose.workroom.door.guarding import Guard, TooLong, TooSlow
from diagnose.workroom.pages import wall
from diagnose.workroom.room import NoSuchPageError, Room, UnsoundCaseError
from diagnose.workroom.telling import FROM_A_COPY
from diagnose.workroom.views import ASSETS, HERE, asset_path, message, page, templates_read

__all__ = ["workroom_app"]

Page = Callable[[Room, Asked], Response]
LOOKED_AT, CHANGES, BOTH = ["GET"], ["POST"], ["GET", "POST"]
CASE = "/case/{case}"
TRYON = CASE + "/tryon/{number}"
BEGUN = "/begun/{begun}"


def workroom_app(room: Room, doors: Doors, places: Collection[str], phone: str = "") -> ASGIApp:
    """The application.

    Args:
        room: the folder of her cases.
        doors: the keys, and who is in.
        places: hosts and ports it is served on.
        phone: the host and port that a telephone finds it at; empty without one.
    """
    routes: list[BaseRoute] = [Route("/", _endpoint(room, wall))]
    routes += [Route("/favicon.ico", lambda _request: Response(status_code=204)), Route("/screen/{wide}", _screen)]
    routes += [Route(asset_path(name), _asset(name, kind)) for name, kind in ASSETS.items()]
    later = _Later(lambda: _inner(room, doors, phone))
    routes.append(Mount("/", app=later))
    room.loads += [later.ready, templates_read]
    return Guard(
        Starlette(routes=routes, exception_handlers={404: _nowhere, 405: _nowhere}),
        places=places, doors=doors,
        refusal=lambda why: page("refused.html.j2", title="Not for this browser", why=why),
        waiting=lambda number: page("waiting.html.j2", title="Waiting to be let in", number=number),
    )  # fmt: skip


class _Later:
    """An application that is made when it is first asked for anything."""

    def __init__(self, make: Callable[[], ASGIApp]) -> None:
        self._make, self._made, self._making = make, None, Lock()

    _made: ASGIApp | None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on."""
        if self._made is None:
            await run_in_threadpool(self.ready)
        assert self._made is not None
        await self._made(scope, receive, send)

    def ready(self) -> None:
        """Make it, where it is not made yet."""
        with self._making:
            self._made = self._made or self._make()


def _inner(room: Room, doors: Doors, phone: str) -> ASGIApp:
    """All pages but the first, with all that they stand on."""
    from diagnose.workroom.pages import (
        altering,
        giving,
        looking_back,
        new_case,
        opened,
        overruling,
        planning,
        telephone,
        trying,
    )  # fmt: skip

    at = telephone.Telephone(doors, phone)
    table: list[tuple[str, list[str], Page]] = [
        (CASE, LOOKED_AT, opened.case_page),
        (CASE + "/picture.svg", LOOKED_AT, opened.picture),
        (CASE + "/photograph.jpg", LOOKED_AT, opened.photograph),
        (CASE + "/tryon", LOOKED_AT, trying.start),
        (TRYON + "/ask/{question}", BOTH, trying.question),
        (TRYON + "/answers", LOOKED_AT, trying.answers),
        (TRYON + "/afresh", CHANGES, trying.afresh),
        (TRYON + "/enough", CHANGES, trying.enough),
        (TRYON + "/store", CHANGES, trying.store),
        (CASE + "/plan", LOOKED_AT, planning.plan),
        (CASE + "/plan/draw", CHANGES, planning.draw_steps),
        (CASE + "/plan/skip", CHANGES, planning.skip_step),
        (CASE + "/plan/by-hand", CHANGES, planning.by_hand),
        (CASE + "/plan/ways", LOOKED_AT, overruling.ways),
        (CASE + "/versions", LOOKED_AT, looking_back.versions),
        (CASE + "/versions/back", CHANGES, looking_back.back),
        (CASE + "/rounds", LOOKED_AT, looking_back.rounds),
        (CASE + "/alter", BOTH, altering.alter),
        (CASE + "/out", LOOKED_AT, giving.out),
        (CASE + "/sheet.{form}", LOOKED_AT, giving.sheet_file),
        (CASE + "/pattern.{form}", LOOKED_AT, giving.pattern_file),
        (CASE + "/cutting", LOOKED_AT, giving.cutting),
        (CASE + "/cutting", CHANGES, giving.cutting_ticks),
        (CASE + "/case.zip", LOOKED_AT, giving.case_file),
        ("/new", BOTH, new_case.bring),
        ("/card.pdf", LOOKED_AT, giving.card),
        (BEGUN, LOOKED_AT, new_case.shown),
        (BEGUN + "/say", CHANGES, new_case.said),
        (BEGUN + "/photograph.jpg", LOOKED_AT, new_case.photograph),
        (BEGUN + "/start", CHANGES, new_case.start_case),
        (BEGUN + "/drop", CHANGES, new_case.drop),
        ("/handbook/handbook.css", LOOKED_AT, giving.book_style),
        ("/handbook/find.js", LOOKED_AT, giving.book_finder),
        ("/handbook/{place:path}", LOOKED_AT, giving.book_page),
        ("/telephone", LOOKED_AT, at.shown),
        ("/telephone/code", CHANGES, at.new_code),
        ("/telephone/let-in", CHANGES, at.let_in),
        ("/telephone/forget", CHANGES, at.forget),
    ]
    routes = [Route(path, _endpoint(room, answer), methods=methods) for path, methods, answer in table]
    return Starlette(routes=routes, exception_handlers={404: _nowhere, 405: _nowhere})


def _endpoint(room: Room, answer: Page) -> Callable[[Request], object]:
    async def endpoint(request: Request) -> Response:
        try:
            asked = await read_asked(request)
            return await run_in_threadpool(answer, room, asked)
        except NoSuchPageError as gone:
            return html(message("There is nothing here any more", str(gone)), 404) if str(gone) else _nowhere(request)
        except UnsoundCaseError as unsound:
            text = "It is left just as it is; your other cases are not touched by it."
            # No page puts a file right, and of all of them the same is to be done.
            files = [one for one in unsound.mistakes if one.where]
            wrong = [
                replace(one, do=FROM_A_COPY * (one is files[-1])) if one.where else one for one in unsound.mistakes
            ]
            return html(message("This case can't be opened", text, wrong), WRONG)
        except FitError as error:
            return html(message("That can't be done", "", error.mistakes, back=_back(request)), WRONG)
        except TooLong:
            return _let_go("More was sent than is taken here at once. Send fewer photographs, or smaller ones.", 413)
        except TooSlow:
            return _let_go("What was sent did not arrive in time.", 408)
        except ClientDisconnect:  # nobody is there any more to read it
            return _let_go("What was sent broke off.", 400)
        except OSError as error:  # the disk's own refusals that no page speaks of itself
            told = refusal(Path(error.filename or "the disk"), error).mistakes
            return html(message("That can't be done", "", told, back=_back(request)), WRONG)
        except Exception:  # the one place where what nobody foresaw becomes a page; it is told where the program runs
            traceback.print_exc(file=sys.stderr)
            text = "Something broke in the program itself; what you have stored is as it was. Go back and try again."
            return html(message("Our fault", text, (), back=_back(request)), 500)

    return endpoint


def _back(request: Request) -> str:
    """The page that leads on after one that only says something: the case's, or all cases."""
    name = request.path_params.get("case")
    return f"/case/{name}" if name else "/"


def _let_go(what: str, status: int) -> Response:
    answer = html(message("That was not taken", what + " Nothing was changed.", ()), status)
    answer.headers["connection"] = "close"
    return answer


def _nowhere(request: Request, _error: Exception | None = None) -> Response:
    return html(message("There is nothing here", "The address leads nowhere. Begin again at your cases."), 404)


def _screen(request: Request) -> Response:
    """A page without its script tells so how wide its screen is."""
    wide = "narrow" if request.path_params["wide"] == "narrow" else "wide"
    kept = {"set-cookie": f"screen={wide}; path=/; samesite=strict", "cache-control": "no-store"}
    return Response(status_code=204, headers=kept)


def _asset(name: str, kind: str) -> Callable[[Request], Response]:
    data = (HERE / "static" / name).read_bytes()
    headers = {"cache-control": "private, max-age=31536000, immutable"}
    return lambda _request: Response(data, media_type=kind, headers=headers)
