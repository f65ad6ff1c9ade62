"""A try-on under way on the page: the replies so far, where they are kept, and what it came to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from diagnose.interview import Interview, Question, Value, Walk, read_reply
from diagnose.interview.flow import ENOUGH
from diagnose.sheets.view import SheetView

__all__ = ["Holding"]


class Holding(Struct):
    """What the page works on; the one place of it that changes.

    Attributes:
        title: the case and the try-on, for the heading.
        interview: what decides on the questions.
        replies: hers so far, by question, in order.
        keep: called after each reply with all of them, and the answers they come to.
        drop: gives up the answers kept.
        finish: stores the try-on and gives its fitting sheet.
        resumed: how many replies were kept from before; 0 when she began now.
        outcome: that sheet; None until it is stored.
    """

    title: str
    interview: Interview
    replies: dict[str, Value]
    keep: Callable[[Mapping[str, Value], Mapping[str, Any]], None]
    drop: Callable[[], None]
    finish: Callable[[Mapping[str, Any]], SheetView]
    resumed: int = 0
    outcome: SheetView | None = None

    def walk(self) -> Walk:
        """Where the try-on stands."""
        return self.interview.walk(self.replies)

    def reply(self, question: Question, text: str) -> None:
        """Take a reply as typed, and keep it.

        Raises:
            FitError: when it is none.
        """
        self.replies[question.id] = read_reply(question, text, self.interview.known.unit)
        self._kept()

    def enough(self) -> None:
        """End the closer look."""
        self.replies[ENOUGH] = True
        self._kept()

    def afresh(self) -> None:
        """Drop the answers kept, and begin anew."""
        self.drop()
        self.replies.clear()
        self.resumed = 0

    def done(self) -> None:
        """Store the try-on, once.

        Raises:
            FitError: when the answers can't be worked out or stored.
        """
        if self.outcome is None:
            self.outcome = self.finish(self.interview.answers(self.replies))

    def _kept(self) -> None:
        self.keep(self.replies, self.interview.answers(self.replies))
