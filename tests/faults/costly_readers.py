"""The two doors that take long to pass, a photograph and a whole request to the workroom: for the long run alone."""

from __future__ import annotations

import atexit
import socket
import sys
import tempfile
from contextlib import ExitStack
from functools import cache
from pathlib import Path
from urllib.parse import urlencode

from every_reader import Reader

from diagnose.errors import FitError
from diagnose.pattern.brought.photo.photographs import read_photos

sys.path += [str(Path(__file__).parents[1] / place) for place in ("photo", "workroom")]
from patterns_known import known_patterns
from rendering import Look, photograph, scene_of
from room_here import Browser, begun, served

__all__ = ["COSTLY"]

LONGEST_WAIT_S = 20.0
HALF_SENT_S = 0.3
"""So long without a word, and the request must be one that is not whole: nothing more is sent then."""
PLACE, COOKIE = b"HOST", b"COOKIE"


def _photograph() -> Reader:
    scene = scene_of(known_patterns()["underarm-panels"](), 3)
    seed, _ = photograph(scene, Look(megapixels=2.0, tilt_deg=8.0, seed=2))
    return Reader(lambda data: read_photos([(data, "x.jpg")]), (seed,))


@cache
def _door() -> tuple[int, bytes, bytes]:
    """Port, place and cookie of a workroom that is open for as long as this process runs."""
    stack = ExitStack()
    atexit.register(stack.close)
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="faults-")))
    begun(folder)
    room = stack.enter_context(served(folder))
    return room.port, room.place.encode(), Browser(room).cookie.encode()


def _request(data: bytes) -> object:
    """What the workroom answers to a request, as it comes over the wire; a refusal counts as one.

    Raises:
        RuntimeError: when the workroom breaks over it, or does not answer.
        FitError: when the request is refused.
    """
    port, place, cookie = _door()
    with socket.create_connection(("127.0.0.1", port), timeout=LONGEST_WAIT_S) as line:
        line.sendall(data.replace(PLACE, place).replace(COOKIE, cookie))
        answer = _answer(line)
    status = answer[9:12].decode(errors="replace")
    if status.startswith("5"):
        raise RuntimeError(answer[:300])
    if not status.startswith(("2", "3")):
        raise FitError.of("page", f"refused with {status or 'nothing'}", code="page")
    return answer


def _answer(line: socket.socket) -> bytes:
    """All that comes back."""
    answer = b""
    line.settimeout(HALF_SENT_S)
    try:
        while more := line.recv(65_536):
            answer += more
    except TimeoutError:
        line.settimeout(LONGEST_WAIT_S)
        line.shutdown(socket.SHUT_WR)
        while more := line.recv(65_536):
            answer += more
    return answer


def _asking(head: str, body: bytes = b"", kind: str = "application/x-www-form-urlencoded") -> bytes:
    lines = [f"{head} HTTP/1.1", "Host: HOST", "Cookie: COOKIE", "Connection: close"]
    if body:
        lines += ["Origin: http://HOST", "Sec-Fetch-Site: same-origin", f"Content-Type: {kind}"]
        lines += [f"Content-Length: {len(body)}"]
    return "\r\n".join([*lines, "", ""]).encode() + body


def _pages() -> Reader:
    answers = urlencode({"text": "2 in", "unit": "in", "name": "rose", "style": "corset"}).encode()
    asked = ("/", "/case/wren", "/case/wren/tryon/1/ask/gap.top", "/case/wren/plan", "/handbook", "/new")
    posts = ("/case/wren/tryon/1/ask/gap.top", "/case/wren/tryon/1/ask/stop", "/new")
    seeds = [_asking(f"GET {page}") for page in asked] + [_asking(f"POST {page}", answers) for page in posts]
    return Reader(_request, tuple(seeds))


COSTLY = {"photograph": _photograph(), "request to the workroom": _pages()}
