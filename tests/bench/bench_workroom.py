"""The workroom as she waits for it: the first page, a hundred cases listed, an answer, a plan with its drawing, a way.

Run: ``python tests/bench/bench_workroom.py [--cases N]``. Each figure is the 95th of 100, over http, in both clocks:
the work of the server's processor, and the time on the wall, which is what she waits. Side by side with each request
plain arithmetic is timed here: where that, too, takes longer on the wall than it works, the machine is busy with other
things. Nothing is asked twice, so that nothing is shown from what was kept. Ends with 1 when an aim is missed.
"""

from __future__ import annotations

import argparse
import http.client
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote, urlencode, urlsplit

from table import Row, at_most, show_section

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.working import store_tryon

NAMES = ("singer", "dancer", "apprentice")
FIRST_MS, LISTED_MS, ANSWER_MS, PLAN_MS, WAY_MS = 1000.0, 300.0, 50.0, 500.0, 500.0
STARTS, PLANS = 20, 24
PLAIN = range(200_000)
"""Some milliseconds of arithmetic."""


class Took(NamedTuple):
    """How long something took, ms: by the clock on the wall, and of the server's processor; and how many times as long
    as it works plain arithmetic took on the wall at that moment."""

    wall: float
    work: float
    busy: float


def _busy() -> float:
    """How many times as long as it works plain arithmetic takes on the wall now."""
    wall, work = time.perf_counter(), time.process_time()
    sum(n * n for n in PLAIN)
    return (time.perf_counter() - wall) / (time.process_time() - work)


def _worked_ms(server: int) -> float:
    """The processor's time that all threads of a process have had."""
    tasks = Path(f"/proc/{server}/task").iterdir()
    return sum(int((task / "schedstat").read_text(encoding="ascii").split()[0]) for task in tasks) / 1e6


class Browser:
    """One browser on one line."""

    def __init__(self, address: str, server: int) -> None:
        self._server = server
        parts = urlsplit(address)
        self._line = http.client.HTTPConnection(parts.netloc, timeout=60)
        self._from, self._cookie = f"http://{parts.netloc}", ""
        answer, _, _ = self.ask(f"/?{parts.query}")
        self._cookie = (answer.getheader("set-cookie") or "").partition(";")[0]

    def ask(
        self, path: str, fields: Mapping[str, str] | None = None, *, live: bool = False
    ) -> tuple[http.client.HTTPResponse, str, Took]:
        """The answer, its text, and how long it took."""
        body = None if fields is None else urlencode(fields)
        headers = {"cookie": self._cookie, "origin": self._from, "content-type": "application/x-www-form-urlencoded"}
        if live:
            headers["x-workroom"] = "live"
        busy = _busy()
        start, worked = time.perf_counter(), _worked_ms(self._server)
        self._line.request("GET" if body is None else "POST", path, body, headers)
        answer = self._line.getresponse()
        text = answer.read().decode(errors="replace")
        wall = (time.perf_counter() - start) * 1000.0
        return answer, text, Took(wall, _worked_ms(self._server) - worked, busy)


def main() -> int:
    """Measure, print, and say whether all aims are met."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=100, help="how many cases stand on the wall")
    count = parser.parse_args().cases
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _fill(folder, count)
        return 1 if show_section("workroom", _rows(folder, count)) else 0


def _fill(folder: Path, count: int) -> None:
    """So many cases with a try-on each, no two with the same gap."""
    for n in range(count):
        bundled = bundled_case(NAMES[n % len(NAMES)])
        case = folder / f"{NAMES[n % len(NAMES)]}-{n:03}"
        if n < len(NAMES):
            casebook.create(case, bundled.pattern, date="2026-03-02", **bundled.about)
        else:
            shutil.copytree(folder / f"{NAMES[n % len(NAMES)]}-{n % len(NAMES):03}", case)
    for case in sorted(folder.iterdir()):
        name, _, number = case.name.partition("-")
        answers = dict(bundled_case(name).rounds[0].answers)
        answers["gap"] = {**answers["gap"], "top": f"{30 + int(number) / 10} mm"}
        store_tryon(case, answers, "2026-03-09")


def _rows(folder: Path, count: int) -> Iterator[Row]:
    yield _row("first page after the command", [_first(folder) for _ in range(STARTS)], FIRST_MS)
    with _opened(folder) as (browser, _):
        yield _row(f"{count} cases listed", [browser.ask(f"/?q={'s' * (n % 2)}")[2] for n in range(30)], LISTED_MS)
        time.sleep(3)
        yield _row("an answer kept, and the next question", _answers(browser, folder), ANSWER_MS)
        yield _row("a plan with its drawing", _plans(browser, folder), PLAN_MS)
        yield _row("another way taken, drawn and foreseen anew", _taken(browser, folder), WAY_MS)
        yield _row("a way shared, drawn anew", _ways(browser), WAY_MS)
        yield _row("an edge moved, shown", _altered(browser), WAY_MS)


@contextmanager
def _opened(folder: Path) -> Iterator[tuple[Browser, int]]:
    """The command run, and a browser that has come in with its key."""
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "workroom", str(folder), "--no-open"], stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stderr is not None
        address = next(found.group() for line in process.stderr if (found := re.search(r"http://\S+key=\S+", line)))
        yield Browser(address, process.pid), process.pid
    finally:
        process.kill()
        process.communicate()


def _first(folder: Path) -> Took:
    """From the command to the first page."""
    busy, started = _busy(), time.perf_counter()
    with _opened(folder) as (browser, server):
        browser.ask("/")
        return Took((time.perf_counter() - started) * 1000.0, _worked_ms(server), busy)


def _row(what: str, took: Sequence[Took], aim: float) -> Row:
    wall, work = _most([one.wall for one in took]), _most([one.work for one in took])
    meanwhile = f"plain work takes {statistics.median(one.busy for one in took):.1f} x"
    return at_most(f"{what} ({len(took)})", f"{work:.0f} ms of work", meanwhile, wall, aim, " ms")


def _most(times_ms: Sequence[float]) -> float:
    """The 95th of 100."""
    return statistics.quantiles(times_ms, n=20)[-1] if len(times_ms) > 1 else times_ms[0]


def _answers(browser: Browser, folder: Path) -> list[Took]:
    """Each reply of a few whole try-ons: the post and the page that it leads to, apart."""
    taken: list[Took] = []
    for case in sorted(folder.glob("[a-z]*"))[:3]:
        where = f"/case/{quote(case.name)}/tryon"
        for _ in range(40):
            answer, _, ms = browser.ask(where)
            at = answer.getheader("location") or ""
            taken.append(ms)
            if at.endswith("/answers"):
                break
            _, text, ms = browser.ask(at)
            taken.append(ms)
            told = re.findall(r'name="tell" value="([^"]+)"', text)
            reply = {"text": "1 in"} if 'name="text"' in text else {"tell": told[0]}
            answer, _, ms = browser.ask(at, reply)
            if answer.status != 303:
                answer, _, ms = browser.ask(at, {"tell": "?"})
            taken.append(ms)
    return taken


def _plans(browser: Browser, folder: Path) -> list[Took]:
    return [browser.ask(f"/case/{quote(case.name)}/plan")[2] for case in sorted(folder.glob("[a-z]*"))[-PLANS:]]


def _ways(browser: Browser) -> list[Took]:
    """A step shared between two places, at each share, for a case of each kind."""
    taken: list[Took] = []
    for name in NAMES:
        case = f"{name}-{NAMES.index(name):03}"
        _, text, _ = browser.ask(f"/case/{case}/plan/ways?step=1.1")
        known = list(dict.fromkeys(re.findall(r'<option value="([a-z-]+)"', text)))
        if len(known) < 2:
            continue
        for part in range(1, 8):
            query = urlencode({"step": "1.1", "one": known[0], "other": known[1], "part": part})
            taken.append(browser.ask(f"/case/{case}/plan/ways?{query}", live=True)[2])
    return taken


def _taken(browser: Browser, folder: Path) -> list[Took]:
    """Another way of the first step taken: the plan with it, of cases whose plan was not asked for yet."""
    taken: list[Took] = []
    for case in sorted(folder.glob("[a-z]*"))[3:-PLANS]:
        at = f"/case/{quote(case.name)}/plan"
        others = re.findall(r'href="[^"]*/plan\?(way=[^"]+)"', browser.ask(f"{at}/ways?step=1.1")[1])
        taken += [browser.ask(f"{at}?{others[1]}")[2]] if len(others) > 1 else []
        if len(taken) == PLANS:
            break
    return taken


def _altered(browser: Browser) -> list[Took]:
    fields = {"op": "move-edge", "of": "1", "edge": "bodies|centre-back"}
    return [
        browser.ask("/case/singer-000/alter", {**fields, "at-waist": f"{n}/16 in"}, live=True)[2] for n in range(1, 13)
    ]


if __name__ == "__main__":
    sys.exit(main())
