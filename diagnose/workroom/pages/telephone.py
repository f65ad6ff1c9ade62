"""Her telephone: the code to scan, who waits to be let in, and who has been. Only at the computer itself."""

from __future__ import annotations

import io

import segno
from markupsafe import Markup
from starlette.responses import Response

from diagnose.errors import FitError
from diagnose.workroom.asked import Asked, html, to
from diagnose.workroom.door.devices import Doors
from diagnose.workroom.room import Room
from diagnose.workroom.views import page

__all__ = ["Telephone"]


class Telephone:
    """The pages of the telephone.

    Args:
        doors: the keys, and who is in.
        place: the host and port that a telephone finds the workroom at; empty without ``--phone``.
    """

    def __init__(self, doors: Doors, place: str) -> None:
        self._doors, self._place = doors, place

    def shown(self, _room: Room, asked: Asked) -> Response:
        """Who waits, who is in."""
        return html(self._page(asked))

    def new_code(self, _room: Room, asked: Asked) -> Response:
        """A code to scan; the one before it works no more."""
        self._only_here(asked)
        if not self._place:
            raise FitError.of(
                "telephone",
                "The workroom is open on this machine only.",
                typed="Start it with --phone.",
                code="this-machine-only",
            )
        return html(self._page(asked, self._doors.new_pairing()))

    def let_in(self, _room: Room, asked: Asked) -> Response:
        """Let in one that waits."""
        self._only_here(asked)
        self._doors.let_in(asked.one("device"))
        return to("telephone")

    def forget(self, _room: Room, asked: Asked) -> Response:
        """Send one away."""
        self._only_here(asked)
        self._doors.forget(asked.one("device"))
        return to("telephone")

    def _only_here(self, asked: Asked) -> None:
        if not asked.here:
            raise FitError.of(
                "telephone",
                "Devices are let in at the computer itself.",
                "Go to it for this.",
                code="this-machine-only",
            )

    def _page(self, asked: Asked, key: str = "") -> str:
        address = f"http://{self._place}/pair?key={key}" if key else ""
        return page(
            "telephone.html.j2", title="Telephone", on=bool(self._place), place=self._place, here=asked.here,
            address=address, code=_code(address) if address else "", waiting=self._doors.all_waiting,
            kept=self._doors.kept,
        )  # fmt: skip


def _code(address: str) -> Markup:
    """The code as a picture within the page: what it holds goes into no address."""
    made = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        made, kind="svg", xmldecl=False, svgns=True, border=4, omitsize=True, svgclass="code", lineclass=None,
        dark="#000", light="#fff",
    )  # fmt: skip
    return Markup(made.getvalue().decode())
