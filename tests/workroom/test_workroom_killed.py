"""The workroom killed at any instant: every answer that it took is on disk, and the next start goes on from there.

A dozen kills by default; as many as the variable DIAGNOSE_WORKROOM_KILLS says, when it is set.
"""

from __future__ import annotations

import http.client
import os
import random
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
import uvicorn  # noqa: F401  (here once, and not anew in each process that is to be killed)
from room_here import at_rest

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.casebook.bundled import bundled_case
from diagnose.interview import replies_of
from diagnose.workroom import hold_workroom, routes  # noqa: F401

KILLS = int(os.environ.get("DIAGNOSE_WORKROOM_KILLS", "12"))
REPLIES = {
    "stop": ("tell", "n"), "gap.top": ("text", "1 in"), "gap.waist": ("text", "2"), "gap.bottom": ("text", "3 in"),
    "tension": ("tell", "working"), "ready": ("tell", "y"), "today": ("tell", "?"),
    "where": ("tell", "n"), "looked": ("tell", "n"),
}  # fmt: skip


class Browser:
    """Speaks to the page as a browser does: one key, one cookie, posts from the page's own address."""

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        self._line = http.client.HTTPConnection(parts.netloc, timeout=60)
        self._from = f"http://{parts.netloc}"
        self._cookie = ""
        self._cookie = self._asked("GET", f"/?{parts.query}").getheader("set-cookie", "").split(";")[0]

    def post(self, path: str, **fields: str) -> int:
        return self._asked("POST", path, urlencode(fields)).status

    def _asked(self, method: str, path: str, body: str | None = None) -> http.client.HTTPResponse:
        self._line.request(method, path, body, {"cookie": self._cookie, "origin": self._from})
        answer = self._line.getresponse()
        answer.read()
        return answer


def serving(case: Case) -> tuple[int, str]:
    """The page in a process of its own: its id, and the address it tells."""
    at_rest()
    told, telling = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            sys.dont_write_bytecode = True  # a kill would leave half of it
            signal.alarm(300)
            hold_workroom(case.folder.parent, lambda line: written(telling, line))
        finally:
            os._exit(0)
    os.close(telling)
    with os.fdopen(told) as lines:
        return child, next(line.strip() for line in lines if "http://" in line)


def written(to: int, line: str) -> None:
    os.write(to, f"{line}\n".encode())


def answer_all(browser: Browser, tryon: str) -> Iterator[str]:
    """Answer question after question, saying each that was taken; the last is the plan."""
    for id_, (field, text) in REPLIES.items():
        if browser.post(f"{tryon}/ask/{id_}", **{field: text}) == 303:
            yield id_
    if browser.post(f"{tryon}/store") == 303:
        yield "plan"


def kept(case: Case) -> dict[str, object]:
    return dict(replies_of(casebook.load_draft(case)))


def taken_until_it_is_gone(browser: Browser, tryon: str) -> list[str]:
    taken: list[str] = []
    try:
        for id_ in answer_all(browser, tryon):
            taken.append(id_)
    except (OSError, http.client.HTTPException):
        pass
    return taken


def run_killed(case: Case, within_s: float | None, chance: random.Random) -> tuple[list[str], float]:
    """Answer on the page until it is killed, somewhere within so long (None: not before the plan); what was taken, and
    how long it took.
    """
    tryon = f"/case/{case.folder.name}/tryon/{len(case.tryons) + 1}"
    child, address = serving(case)
    browser = Browser(address)
    started = time.monotonic()
    killer = None if within_s is None else killed_after(child, chance.uniform(0.0, within_s))
    taken = taken_until_it_is_gone(browser, tryon)
    took_s = time.monotonic() - started
    if killer is None:
        os.kill(child, signal.SIGKILL)
    else:
        os.waitpid(killer, 0)
    os.waitpid(child, 0)
    return taken, took_s


def killed_after(child: int, wait_s: float) -> int:
    """A process that kills another after a while, and ends."""
    killer = os.fork()
    if killer == 0:
        time.sleep(wait_s)
        os.kill(child, signal.SIGKILL)
        os._exit(0)
    return killer


@pytest.mark.long
def test_killed_at_any_instant_the_page_has_kept_every_answer_it_took(tmp_path: Path) -> None:
    bundled = bundled_case("dancer")
    case = casebook.create(tmp_path / "dancer", bundled.pattern, **bundled.about)
    chance = random.Random(4)
    taken, whole_s = run_killed(case, None, chance)
    assert taken == [*REPLIES, "plan"]
    for _ in range(KILLS):
        case = casebook.open_case(case.folder)
        before, tryons = kept(case), len(case.tryons)
        taken, _ = run_killed(case, whole_s, chance)
        after = casebook.open_case(case.folder)
        if len(after.tryons) > tryons:
            stored = after.tryons[-1]
            assert stored.plan is not None
            assert stored.answers["gap"] == {"top": "1 in", "waist": "2 in", "bottom": "3 in"}
        else:
            assert "plan" not in taken
            assert {*before, *taken} <= {*kept(after)} <= {*REPLIES}
