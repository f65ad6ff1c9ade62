"""Who may see the pages, how much may be sent to them, and how long that may take.

A page answers to the addresses that it is served on and to no other name; to the browser of this machine that brought
the key, and to telephones that were let in. What is posted must come from one of its own pages.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection
from typing import Any

import h11
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

from diagnose.workroom.door.devices import Doors

__all__ = ["HEADERS", "MOST_BYTES", "MOST_FILE_BYTES", "Guard", "Patient", "TooLong", "TooSlow", "is_here"]

MOST_BYTES, MOST_FILE_BYTES = 262_144, 48_000_000
BODY_S, FILE_S = 20.0, 180.0
HEAD_S = 15.0
"""How long the head of a request may take: one that is never finished is cut off, so that a few hundred of them can't
keep her out."""
UPLOADS = ("/new",)
"""The one page that takes a file."""
OPEN = "/static/"
"""Style and script, which hold nothing of hers: the page that refuses a stranger is a page as well."""
HERE, DEVICE = "workroom", "workroom-device"
HEADERS = {
    "content-security-policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "cache-control": "no-store",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
}
OTHER_ADDRESS = "The workroom answers only to its own address."
OTHER_METHOD = "The workroom is only looked at and answered."
OTHER_PAGE = "This was sent from another page."
USED = (
    "The address works once, for the browser that opened it first. In the terminal where the workroom runs, press "
    "Enter for a new one."
)
NOT_LET_IN = "This telephone has not been let in, or was forgotten. At the computer, open Telephone and scan the code."


class TooLong(Exception):  # noqa: N818  (it is no error of the program)
    """More was sent than a page takes."""


class TooSlow(Exception):  # noqa: N818
    """What was announced did not come in time."""


class Guard:
    """Lets through what comes from a browser that is in, within bounds, and adds the headers that keep pages private.

    Args:
        app: what is guarded.
        places: hosts and ports that the pages are served on, the only ones they answer to.
        doors: the keys and who is in.
        refusal: the page shown to anyone else, given a sentence.
        waiting: the page of a telephone that waits, given its number.
    """

    def __init__(
        self, app: ASGIApp, *, places: Collection[str], doors: Doors, refusal: Callable[[str], str],
        waiting: Callable[[str], str],
    ) -> None:  # fmt: skip
        self._app, self._places, self._doors = app, frozenset(places), doors
        self._refusal, self._waiting = refusal, waiting

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, open the door with its key, or refuse it."""
        if scope["type"] != "http":
            return
        request = Request(scope)
        answer = self._answered(request)
        sending = _with_headers(send)
        if answer is not None:
            await answer(scope, receive, sending)
            return
        file = request.url.path.startswith(UPLOADS)
        bounded = _bounded(receive, MOST_FILE_BYTES if file else MOST_BYTES, FILE_S if file else BODY_S)
        await self._app(scope, bounded, sending)

    def _answered(self, request: Request) -> Response | None:
        """What the door itself answers; None when the request is let through."""
        why = self._wrong(request)
        if why is not None:
            return self._refused(why)
        here = request.cookies.get(_cookie(request), "")
        device = request.cookies.get(DEVICE, "")
        path = request.url.path
        if path.startswith(OPEN):
            return None
        if path == "/" and "key" in request.query_params:
            return self._opened(request, inside=self._doors.is_here(here))
        if path == "/pair" and request.method == "GET":
            return self._knocked(request)
        if _loopback(request) and self._doors.is_here(here):
            return None
        if device and self._doors.is_let_in(device):
            return None
        waits = self._doors.waiting(device) if device else None
        if waits is not None:
            return HTMLResponse(self._waiting(waits.number), headers={"refresh": "2; url=/"})
        return self._refused(USED if _loopback(request) else NOT_LET_IN)

    def _wrong(self, request: Request) -> str | None:
        if len(request.headers.getlist("host")) != 1 or request.headers["host"] not in self._places:
            return OTHER_ADDRESS
        if request.method not in ("GET", "HEAD", "POST"):
            return OTHER_METHOD
        if request.method == "POST" and not _from_here(request):
            return OTHER_PAGE
        return None

    def _refused(self, why: str) -> Response:
        return HTMLResponse(self._refusal(why), status_code=403)

    def _opened(self, request: Request, *, inside: bool) -> Response:
        """For the request that brings the key: the cookie, and on without the key in the address."""
        secret = self._doors.open_here(request.query_params["key"]) if _loopback(request) else None
        if secret is None and not inside:
            return self._refused(USED)
        to = request.query_params.get("to", "/")
        response = RedirectResponse(to if to.startswith("/") and not to.startswith("//") else "/", status_code=303)
        if secret is not None:
            response.set_cookie(_cookie(request), secret, httponly=True, samesite="strict")
        return response

    def _knocked(self, request: Request) -> Response:
        """For the telephone that brings the key of the code: a cookie that lets it wait."""
        address = request.client.host if request.client else ""
        name = _device_name(request.headers.get("user-agent", ""))
        secret = self._doors.knock(request.query_params.get("key", ""), name, address)
        if secret is None:
            return self._refused("The code works once, for ten minutes. At the computer, ask for a new one.")
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(DEVICE, secret, httponly=True, samesite="strict", max_age=365 * 86_400)
        return response


def is_here(request: Request) -> bool:
    """Whether a request that was let through comes from this machine, and not from a telephone."""
    return _loopback(request)


def _loopback(request: Request) -> bool:
    peer = request.client.host if request.client else ""
    return peer == "127.0.0.1" and request.headers["host"].startswith("127.0.0.1:")


def _cookie(request: Request) -> str:
    # Cookies do not tell ports apart; two workrooms on two folders each have one of their own.
    return f"{HERE}-{request.headers['host'].rpartition(':')[2]}"


def _from_here(request: Request) -> bool:
    site = request.headers.get("sec-fetch-site")
    return site in (None, "same-origin") and request.headers.get("origin") == f"http://{request.headers['host']}"


def _device_name(agent: str) -> str:
    """What a telephone calls itself, in a word that she knows it by."""
    known = (
        ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android telephone"), ("Macintosh", "Mac"),
        ("Windows", "Windows computer"), ("Linux", "Linux computer"),
    )  # fmt: skip
    return next((name for word, name in known if word in agent), "A device that gives no name")


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sending


def _bounded(receive: Receive, most: int, seconds: float) -> Receive:
    """What is received, counted as it comes (what is announced may be false) and against the clock."""
    left, until = most, asyncio.get_running_loop().time() + seconds

    async def receiving() -> Message:
        nonlocal left
        try:
            async with asyncio.timeout_at(until):
                message = await receive()
        except TimeoutError:
            raise TooSlow from None
        left -= len(message.get("body", b""))
        if left < 0:
            raise TooLong
        return message

    return receiving


class Patient(H11Protocol):
    """Uvicorn's own protocol, which lets go of a connection whose request is not told in `HEAD_S`."""

    _late: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait."""
        super().connection_made(transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Go on waiting from the first byte of a head; stop when it is whole."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._wait()
        else:
            self._stop()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self._stop()
        super().connection_lost(exc)

    def _wait(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(HEAD_S, self._cut)

    def _stop(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _cut(self) -> None:
        self._late = None
        answering = self.cycle is not None and not self.cycle.response_complete
        if not answering and not self.transport.is_closing():
            self.transport.close()
