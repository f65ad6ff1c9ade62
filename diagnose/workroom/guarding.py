"""Who may see the page: this machine, by its number and port, and the one browser that brought the key first."""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

__all__ = ["Guard"]

MOST_BYTES = 65_536
HEADERS = {
    "content-security-policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src data:; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    ),
    "cache-control": "no-store",
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
}
Next = Callable[[Request], Awaitable[Response]]


class Guard:
    """Lets through what comes from the one browser, and adds the headers that keep the page to itself.

    Args:
        place: the host and port that the page is served on, the only ones it answers to.
        key: opens the page once; the browser that brought it gets a cookie.
        refusal: the page shown to anyone else, given a sentence.
    """

    def __init__(self, place: str, key: str, refusal: Callable[[str], str]) -> None:
        self._place, self._key, self._refusal = place, key, refusal
        self._cookie, self._secret = f"tryon-{place.rpartition(':')[2]}", secrets.token_urlsafe(24)
        self._used = False

    async def __call__(self, request: Request, call_next: Next) -> Response:
        """Let a request through, open the page with its token, or refuse it."""
        refused = self._refused(request)
        if refused is None:
            response = self._opened(request) or await call_next(request)
        else:
            response = HTMLResponse(self._refusal(refused), status_code=403)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response

    def _refused(self, request: Request) -> str | None:
        """Why a request is not let through; None when it is."""
        if request.headers.getlist("host") != [self._place]:
            return "This page answers only to its own address."
        if request.method not in ("GET", "HEAD", "POST"):
            return "This page is only looked at and answered."
        if request.method == "POST" and not self._from_here(request):
            return "This answer came from another page."
        if self._has_cookie(request) or self._brings_key(request):
            return None
        return "The address works once, for the browser that opened it first. Stop the program and start it again."

    def _opened(self, request: Request) -> Response | None:
        """For the request that brings the key: the cookie, and on to the page without the key in the address."""
        if "key" not in request.query_params:
            return None
        response = RedirectResponse("/", status_code=303)
        if not self._has_cookie(request):
            self._used = True
            response.set_cookie(self._cookie, self._secret, httponly=True, samesite="strict")
        return response

    def _brings_key(self, request: Request) -> bool:
        key = request.query_params.get("key", "")
        return not self._used and request.url.path == "/" and secrets.compare_digest(key.encode(), self._key.encode())

    def _has_cookie(self, request: Request) -> bool:
        return secrets.compare_digest(request.cookies.get(self._cookie, "").encode(), self._secret.encode())

    def _from_here(self, request: Request) -> bool:
        size = request.headers.get("content-length", "")
        small = size.isascii() and size.isdigit() and int(size) <= MOST_BYTES
        return small and request.headers.get("origin") == f"http://{self._place}"
