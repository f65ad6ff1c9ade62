"""A try-on under way, answered in several places: each reply is put among those on disk, so that none is lost."""

from __future__ import annotations

from collections.abc import Callable

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.interview import Interview, Value, draft_of, replies_of

__all__ = ["change_replies", "replies_now"]


def replies_now(case: Case) -> dict[str, Value]:
    """The replies kept of the next try-on, in the order given."""
    return replies_of(casebook.load_draft(case))


def change_replies(case: Case, interview: Interview, change: Callable[[dict[str, Value]], None]) -> dict[str, Value]:
    """Change the replies on disk, and give them as they are then. One caller at a time: see `casebook.asking`.

    Args:
        case: the case as it is now.
        interview: of its next try-on.
        change: what is changed in the replies; it may raise, and then nothing is.

    Raises:
        FitError: when they are being answered elsewhere, or can't be kept.
    """
    with casebook.asking(case.folder):
        replies = replies_now(case)
        change(replies)
        casebook.save_draft(case, draft_of(replies, interview.answers(replies)))
    return replies
