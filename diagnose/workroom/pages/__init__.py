"""The pages, a file for each thing she does: each takes the room and what was asked, and gives an answer.

Here the first page, her cases on a wall. It is there within a second of the command: what it does not need is loaded
while she looks.
"""

from __future__ import annotations

from starlette.responses import Response

from diagnose.casework.glance import begun_in, cases_in
from diagnose.workroom.asked import Asked, html
from diagnose.workroom.room import Room
from diagnose.workroom.views import page

__all__ = ["wall"]


def wall(room: Room, asked: Asked) -> Response:
    """Her cases as cards on a wall, or those that hold the words sought."""
    words = asked.query.get("q", "").strip()[:200]
    cases = cases_in(room.folder)
    found = [one for one in cases if one.has(words)]
    sound = [one for one in found if not one.trouble]
    on = next((one for one in sound if one.under_way), sound[0] if sound else None)
    begun = () if words else begun_in(room.folder)
    made = html(
        page(
            "wall.html.j2", title="Your cases", cases=found, count=len(cases), words=words, here=asked.here, on=on,
            begun=begun,
        )
    )  # fmt: skip
    room.warm()
    return made
