"""A workroom of an invented case, served from this process on a port of its own, and a browser that speaks to it."""

from __future__ import annotations

import http.client
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import uvicorn
from msgspec import Struct

from diagnose import casebook
from diagnose.casework.under_way import replies_now
from diagnose.interview import Value, draft_of
from diagnose.pattern.brought import load_pattern
from diagnose.places import bundled_cases
from diagnose.workroom.door.devices import Doors
from diagnose.workroom.door.guarding import Patient
from diagnose.workroom.room import Room
from diagnose.workroom.routes import workroom_app
from diagnose.workroom.serving import listening_at

__all__ = ["GARMENT", "Browser", "Served", "at_rest", "begun", "served"]

SERVING, ENGINE = "serving", "engine"
"""What the names of threads begin with: one serves, the other works for a room."""
GARMENT = {"style": "corset", "closure": "back", "straps": "fixed", "tabs": "none"}


class Served(Struct):
    """A workroom served: its folder and doors, and where."""

    folder: Path
    doors: Doors
    room: Room
    port: int
    server: uvicorn.Server
    name: str = "wren"
    """The folder of the case that the test is about."""

    @property
    def place(self) -> str:
        """Host and port."""
        return f"127.0.0.1:{self.port}"

    def address(self, to: str = "/") -> str:
        """What is typed into the browser."""
        return f"http://{self.place}/?key={self.doors.new_key()}&to={to}"

    @property
    def case(self) -> casebook.Case:
        """The case as it is now."""
        return casebook.open_case(self.folder / self.name)

    @property
    def tryon(self) -> str:
        """Where its try-on is answered."""
        return f"/case/{self.name}/tryon"

    @property
    def replies(self) -> dict[str, Value]:
        """What is kept of its try-on under way."""
        return replies_now(self.case)


def begun(folder: Path, replies: Mapping[str, Value] | None = None, name: str = "wren", **about: Any) -> casebook.Case:
    """A case of the bundled six-panel corset, with replies of a try-on under way."""
    pattern = load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json")
    case = casebook.create(folder / name, pattern, **{"garment": GARMENT, "target": "2 in", **about})
    if replies:
        casebook.save_draft(case, draft_of(replies, {}))
    return case


@contextmanager
def served(folder: Path, phone: str = "") -> Iterator[Served]:
    """Serve the workroom of a folder until the block ends.

    Args:
        folder: of the cases.
        phone: another host of this machine that it is served on too, as the home network's.
    """
    hosts = ["127.0.0.1", *([phone] if phone else [])]
    sockets = listening_at(hosts)
    port = sockets[0].getsockname()[1]
    doors, room = Doors(folder), Room(folder)
    app = workroom_app(room, doors, [f"{host}:{port}" for host in hosts], f"{phone}:{port}" if phone else "")
    config = uvicorn.Config(app, http=Patient, ws="none", lifespan="off", log_level="critical", server_header=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": sockets}, daemon=True, name=SERVING)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield Served(folder, doors, room, port, server)
    finally:
        # It closes its sockets and ends within a moment; nobody waits for that before `at_rest`.
        server.should_exit = server.force_exit = True
        room.close()


def at_rest() -> None:
    """Wait until all that was served has ended.

    A process that is forked while a thread here loads something waits for the end of that for ever.
    """
    for thread in threading.enumerate():
        if thread.name.startswith((SERVING, ENGINE)):
            thread.join(30)


class Browser:
    """What a browser that has opened the workroom with its key sends; it follows nothing by itself."""

    def __init__(self, room: Served, host: str = "127.0.0.1") -> None:
        self.room, self.host, self.cookie = room, host, ""
        if host == "127.0.0.1":
            answer, _ = self.ask(f"/?key={room.doors.new_key()}")
            self.cookie = (answer.getheader("set-cookie") or "").partition(";")[0]

    def ask(
        self, path: str, fields: Mapping[str, Any] | None = None, method: str = "", body: bytes | str | None = None,
        **headers: str,
    ) -> tuple[http.client.HTTPResponse, str]:  # fmt: skip
        """The answer and its text: fields are posted, as a form of one of the workroom's pages posts them."""
        place = f"{self.host}:{self.room.port}"
        if fields is not None:
            body = urlencode(fields, doseq=True)
        sent = {"cookie": self.cookie, "content-type": "application/x-www-form-urlencoded"}
        method = method or ("GET" if body is None else "POST")
        if method == "POST":
            sent |= {"origin": f"http://{place}", "sec-fetch-site": "same-origin"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection(self.host, self.room.port, timeout=60)
        connection.request(method, path, body, {name: value for name, value in sent.items() if value})
        answer = connection.getresponse()
        text = answer.read().decode(errors="replace")
        connection.close()
        return answer, text

    def led_to(self, path: str, fields: Mapping[str, Any] | None = None) -> str | None:
        """Where an answer sends on to; None when it does not."""
        answer, _ = self.ask(path, fields)
        return answer.getheader("location") if answer.status == 303 else None
