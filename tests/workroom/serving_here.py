"""The page of an invented try-on, served from this process on a port of its own."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import uvicorn

from diagnose.engine.matching import matcher_for
from diagnose.interview import Interview, Known, Value
from diagnose.model.diagnosis import Ask
from diagnose.model.tryon import read_tryon
from diagnose.plan.whole import diagnose
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.view import SheetView, build_view
from diagnose.workroom import Holding
from diagnose.workroom.app import page_app

__all__ = ["Served", "served"]

GARMENT = {"style": "corset", "closure": "back", "straps": "fixed", "tabs": "none"}
KEY = "the-key-of-these-tests"


@dataclass(slots=True)
class Served:
    """The try-on served, where, with which key, and what was kept of it, reply by reply."""

    holding: Holding
    port: int
    thread: threading.Thread
    key: str = KEY
    kept: list[dict[str, Value]] = field(default_factory=list)

    @property
    def place(self) -> str:
        """Host and port."""
        return f"127.0.0.1:{self.port}"

    @property
    def address(self) -> str:
        """What is typed into the browser."""
        return f"http://{self.place}/?key={self.key}"


@contextmanager
def served(base: RuleBase, replies: dict[str, Value] | None = None, title: str = "wren: try-on 1") -> Iterator[Served]:
    """Serve a try-on with one late question until the block ends."""
    kept: list[dict[str, Value]] = []
    holding = Holding(
        title, Interview(base, Known(garment=GARMENT, target="2 in"), _ask), dict(replies or {}),
        lambda now, _answers: kept.append(dict(now)), lambda: kept.append({}),
        lambda answers: _finish(base, answers), resumed=len(replies or {}),
    )  # fmt: skip
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        port = listening.getsockname()[1]
        app = page_app(holding, f"127.0.0.1:{port}", KEY, lambda: setattr(server, "should_exit", True), 60.0)
        server = uvicorn.Server(uvicorn.Config(app, log_level="critical", lifespan="off"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        try:
            yield Served(holding, port, thread, kept=kept)
        finally:
            server.should_exit = True
            thread.join(10)


def _ask(answers: Mapping[str, Any]) -> Sequence[Ask]:
    return () if "fold-under-bust" in answers.get("seen", {}) else (Ask("fold-under-bust", "?", "", "", ()),)


def _finish(base: RuleBase, answers: Mapping[str, Any]) -> SheetView:
    tryon = read_tryon({"id": "t", "garment": GARMENT, "target": "2 in", **answers}, base.vocabulary)
    found = diagnose(tryon, base, matcher_for(base))
    return build_view("wren", tryon, found, base, None, None, (), "in", "2026-03-09", "version 1")
